"""The crank's metal: counterweights, what is left of them, what a hole, a slug or a ground arc takes.
No plan of holes: that is the room correction.
May import: base."""
