"""Optics of layers: what several pencils laid over each other look like."""

from stopgap.layering.prediction import predict, tints
