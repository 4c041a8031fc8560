"""Short functions that string the layers together; never a terminal or a browser."""
