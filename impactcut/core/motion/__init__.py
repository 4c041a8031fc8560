"""What is measured of pictures: cells, light, cuts, repeats; never what it means."""
