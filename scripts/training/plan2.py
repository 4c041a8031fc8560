import os
from spotter.fit import Recipe
A_GPU = 2
how = {"steps": 6000, "seconds": 300.0, "rate": 8e-4, "hardens": (0.02, 0.5), "calm": 1.3}
RECIPES = [Recipe("base+more", f, seed=5, **how) for f in (0, 1, 2, None)]
