"""Sizing: windows first, then stock sizes. Arrays in core units (mm); no files, no units library."""
