"""Seeing it: one description of plain shapes, and the pictures, report and work page made from it."""
