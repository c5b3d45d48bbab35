"""Bends: one exact model of a piece of tube, and the questions asked of it."""
