python3 -m pip install -q --no-index --find-links .whl pymunk cffi pycparser 2>&1 | tail -1
export SCRATCH=/dev/shm PYTHONUNBUFFERED=1
python3 scripts/training/fit_spotter.py .bench $OUT --plan scripts/training/$1 --seconds $2 --filming 130 2>&1 | tee $OUT/log.txt
cd /dev/shm/results && tar cf - *.npz | split -b 15M - $OUT/said.tar. ; tar cf $OUT/w16.tar w16*.pt; ls -la $OUT; nvidia-smi --query-gpu=name,memory.used,utilization.gpu --format=csv
