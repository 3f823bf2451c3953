"""The probe checklist: what to measure, in order, and what each reading means."""

from ohmtrail.netanalysis.checklist.build import make_checklist
from ohmtrail.netanalysis.checklist.model import Checklist, Expect, Section, Step

__all__ = ["Checklist", "Expect", "Section", "Step", "make_checklist"]
