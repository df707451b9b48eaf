"""Check a regime against its template, the facts of the course and the rules of care."""

from __future__ import annotations

from dataclasses import replace

from .body import Regime
from .case import Case
from .days import day_findings
from .dosing import dosing_findings
from .facts import RepairFacts
from .finding import Finding, Reasons
from .limits import Limits
from .protection import protection_findings
from .scope import scope_findings
from .splinting import splint_findings

RULES = (scope_findings, day_findings, dosing_findings, splint_findings, protection_findings)


def check(
    regime: Regime,
    template: Regime | None,
    facts: RepairFacts | None,
    reasons: Reasons,
    limits: Limits | None = None,
) -> list[Finding]:
    """Every finding, each with the reason entered for its rule.

    template None: a free regime. facts None: a template is looked at, apart from any patient.
    """
    case = Case(regime, template, facts, limits or Limits())
    found = (finding for rule in RULES for finding in rule(case))
    return [replace(finding, reason=reasons.get(finding.rule)) for finding in found]
