"""Which section, take and angle each clip is, and takes compared; never measured."""
