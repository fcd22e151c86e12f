"""A V8 with nothing alike."""

LOPSIDED = {
    "piston": {1: 545.0, 4: 531.0, 7: 540.0},
    "big_end": {2: 455.0, 5: 449.5},
    "small_end": {3: 173.0, 8: 168.9},
}
