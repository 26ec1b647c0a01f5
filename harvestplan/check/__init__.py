"""The judge: a written plan against the published rules, worked out anew from the season folder.

Nothing here knows how a plan is made; a fault of the planner shows up as a finding.
"""

from __future__ import annotations

from harvestplan.check.facts import Finding
from harvestplan.check.judge import check_plan

__all__ = ["Finding", "check_plan"]
