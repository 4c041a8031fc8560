"""What taking frames out of one hit gains and shows; never another hit, never a programme."""
