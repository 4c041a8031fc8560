"""What is measured of pictures: cells, tracks, light, cuts, repeats; never what it means."""
