"""What synthetic films show: each module stages one sort of impact, or of movement that is none."""
