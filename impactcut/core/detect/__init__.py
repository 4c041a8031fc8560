"""What a hit is, from a spot to limb, bodies and reaction; never files, trims or sound."""
