"""What the program is held against outside itself: printed examples, reference libraries, solids, bench tests."""
