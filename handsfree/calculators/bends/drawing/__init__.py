"""Drawings of a plan: a sheet as SVG, and a plain tape for the terminal."""
