"""The engine as declared: throws, cylinders, banks, plain geometry, and what any crank shakes with at any share.
No job, no reading.
May import: base."""
