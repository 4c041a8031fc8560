"""What viewers can tell apart, published or asked of them; never a clip, hit or trim."""
