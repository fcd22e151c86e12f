"""Holes of the correction worked out point by point: what they take, and how near they come to anything."""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import cKDTree

from truethrow.balance.crank.holes import HEAVY_METAL_G_CM3


def turned(angle_deg):
    return np.exp(1j * math.radians(angle_deg))


def taken(crank, hole, planes_mm, heavy_g_cm3=HEAVY_METAL_G_CM3[1]):
    """What a hole takes off the front and the rear plane: its metal by Gauss-Legendre in space, each point at its
    own z, with the curved rim and the drill's cone; a slug as heavy metal put where steel was."""
    member = crank.member(hole.member)
    density = member.density_g_mm3 - (heavy_g_cm3 / 1000 if hole.kind == "slug" else 0.0)
    if hole.kind == "grind":
        at, z, volume = _ground(member, hole)
    else:
        at, z, volume = (_radial if hole.kind == "radial" else _axial)(member, hole)
    rear = (z - planes_mm[0]) / (planes_mm[1] - planes_mm[0])
    moment = density * volume * at * turned(hole.angle_deg)
    return complex((moment * (1 - rear)).sum()), complex((moment * rear).sum())


def _nodes(count, low, high):
    x, w = np.polynomial.legendre.leggauss(count)
    return (low + high) / 2 + (high - low) / 2 * x, (high - low) / 2 * w


def _disc(diameter):
    r, w = _nodes(24, 0.0, diameter / 2)
    theta = np.arange(64) * 2 * math.pi / 64
    return r[:, None, None], theta[None, :, None], (w * r)[:, None, None] * (2 * math.pi / 64)


def _cone(hole):
    return hole.diameter_mm / 2 / math.tan(math.radians(hole.point_deg / 2))


def _radial(member, hole):
    r, theta, area = _disc(hole.diameter_mm)
    across = r * np.cos(theta)
    top = np.sqrt(hole.radius_mm**2 - across**2)
    bottom = hole.radius_mm - hole.depth_mm - _cone(hole) * (1 - 2 * r / hole.diameter_mm)
    x, w = _nodes(8, 0.0, 1.0)
    height = bottom + (top - bottom) * x
    return height + 1j * across, hole.z_mm + r * np.sin(theta) + 0 * height, area * (top - bottom) * w


def _axial(member, hole):
    r, theta, area = _disc(hole.diameter_mm)
    deep = np.minimum(hole.depth_mm + _cone(hole) * (1 - 2 * r / hole.diameter_mm), member.thickness_mm)
    x, w = _nodes(8, 0.0, 1.0)
    into = deep * x
    half = member.thickness_mm / 2
    z = member.z_mm - half + into if member.bore == "front" else member.z_mm + half - into
    at = hole.radius_mm + r * np.exp(1j * theta) + 0 * into
    return at, z + 0 * theta, area * deep * w + 0 * theta


def _ground(member, hole):
    r, wr = _nodes(8, hole.radius_mm - hole.depth_mm, hole.radius_mm)
    a, wa = _nodes(16, -math.radians(hole.arc_deg) / 2, math.radians(hole.arc_deg) / 2)
    at = r[:, None] * np.exp(1j * a)[None, :]
    return at, np.full(at.shape, hole.z_mm), (wr * r)[:, None] * wa[None, :] * member.thickness_mm


def skin(member, hole):
    """Points on the wall, shoulder and point of a hole, in (x, y, z), a millimetre from one another at most."""
    theta = np.linspace(0, 2 * math.pi, 72, endpoint=False)
    cone = _cone(hole)
    down = np.concatenate([np.linspace(0, hole.depth_mm, 40), hole.depth_mm + cone * np.linspace(0, 1, 6)])
    radius = hole.diameter_mm / 2 * np.concatenate([np.ones(40), 1 - np.linspace(0, 1, 6)])
    side, along = radius[:, None] * np.cos(theta), radius[:, None] * np.sin(theta)
    deep = np.broadcast_to(down[:, None], side.shape)
    if hole.kind == "radial":
        flat, z = hole.radius_mm - deep + 1j * side, hole.z_mm + along
        inside = abs(flat) <= hole.radius_mm + 1e-9
        flat, z = flat[inside], z[inside]
    else:
        half = member.thickness_mm / 2
        z = member.z_mm - half + deep if member.bore == "front" else member.z_mm + half - deep
        flat = hole.radius_mm + side + 1j * along
    flat = flat * turned(hole.angle_deg)
    return np.stack([flat.real.ravel(), flat.imag.ravel(), z.ravel()], axis=-1)


def gap(one, other):
    """Least distance between two skins."""
    return cKDTree(one).query(other)[0].min()


def are_apart(one, other, least_mm):
    """Whether two skins are nowhere nearer: boxes around them tell it of most that are."""
    between = np.maximum(one.min(axis=0) - other.max(axis=0), other.min(axis=0) - one.max(axis=0))
    return np.linalg.norm(np.maximum(between, 0.0)) >= least_mm or gap(one, other) >= least_mm


def gap_to_ground(member, ground, hole):
    """Least distance from a hole's skin to the metal that a ground arc takes, which goes through the whole
    thickness; nothing where the hole reaches into it."""
    points = skin(member, hole)
    at = (points[:, 0] + 1j * points[:, 1]) * turned(-ground.angle_deg)
    beside = np.maximum(np.abs(np.angle(at)) - math.radians(ground.arc_deg) / 2, 0.0)
    floor = ground.radius_mm - ground.depth_mm
    # Below the arc the nearest is its floor, beside it the face at its end, from the floor up to the rim.
    along = np.where(beside < math.pi / 2, abs(at) * np.cos(beside), 0.0)
    off = np.abs(abs(at) * np.exp(1j * beside) - np.clip(along, floor, ground.radius_mm))
    return np.where(beside == 0, np.maximum(floor - abs(at), 0.0), off).min()
