"""Scantling: a design-rule checker for vector artwork that is cut from sheet goods."""

__version__ = "0.1.0"
