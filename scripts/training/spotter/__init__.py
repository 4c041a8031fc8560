"""Fitting the spotter: clips and films in as planes, an ONNX file and its manifest out."""
