python3 -m pip install -q --no-index --find-links .whl pymunk cffi pycparser 2>&1 | tail -1
export SCRATCH=/dev/shm PYTHONUNBUFFERED=1
mkdir -p /dev/shm/old; mv /dev/shm/results/*.npz /dev/shm/results/*.pt /dev/shm/old/ 2>/dev/null
python3 scripts/training/fit_spotter.py .bench $OUT --plan scripts/training/$1 --seconds $2 --filming 100 2>&1 | tee $OUT/log.txt
cd /dev/shm/results && tar cf - *.npz | split -b 15M - $OUT/said.tar. ; tar cf $OUT/all.tar *fold-all.pt; ls -la $OUT
