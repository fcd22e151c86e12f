"""Pools of loose parts matched into engines."""
