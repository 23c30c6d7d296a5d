"""Repairs: the ways to put a discrepancy right, each saying exactly what the office would write."""

from server.review.repairs.choosing import repair_named, repairs_of
from server.review.repairs.repair import Repair, Way

__all__ = ["Repair", "Way", "repair_named", "repairs_of"]
