"""CMX3600-form EDLs, written, read, checked and written anew; never another form of list."""
