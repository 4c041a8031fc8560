"""Short functions that string the layers together."""
