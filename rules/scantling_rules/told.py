"""Which rule reports a trouble, where a job sheet may have turned it off."""

from scantling.plan.model import Plan


def told_of(plan: Plan, rule: str) -> str:
    """The rule, or an empty string where the job sheet has turned it off: then it tells nothing."""
    return "" if plan.job.rules.get(rule, {}).get("level") == "off" else rule
