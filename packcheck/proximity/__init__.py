"""Signed gaps between placed parts, with proven bounds. The only room that knows the distance engine."""

from packcheck.proximity.bounds import Bounds
from packcheck.proximity.separation import Placed, Separation
from packcheck.proximity.session import Session, Work

__all__ = ["Bounds", "Placed", "Separation", "Session", "Work"]
