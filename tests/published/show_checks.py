"""Print every published check: expected, computed, difference, source.

Run it as a script, `python tests/published/show_checks.py`. It prints the table and ends with 1
when a value is farther from its source than the source's digits allow. The test beside it walks
the same table.
"""

from __future__ import annotations

import sys

import published_clipping
import published_heat
import published_power
import published_pulse
import published_response
import published_supply
import published_uncertainty
from published_check import Check

FAMILIES: dict[str, tuple[Check, ...]] = {
    "power and levels": published_power.CHECKS,
    "supply, output, channels": published_supply.CHECKS,
    "response, preferred values": published_response.CHECKS,
    "square waves": published_pulse.CHECKS,
    "heat": published_heat.CHECKS,
    "clipping, distortion, noise": published_clipping.CHECKS,
    "uncertainty and verdicts": published_uncertainty.CHECKS,
}
"""Every check, by subject."""


def table_rows(checks: tuple[Check, ...]) -> list[str]:
    """One printed line for each check."""
    rows = []
    for check in checks:
        computed = check.computed()
        difference = computed - check.expected
        mark = "  " if abs(difference) <= check.within else "✗ "
        rows.append(
            f"{mark}{check.subject:<52} {check.expected:>13.7g} {computed:>13.7g}"
            f" {difference:>10.1e}  {check.source}"
        )
    return rows


def main() -> int:
    """Print the table; 0 when every value agrees with its source."""
    wrong = total = 0
    for family, checks in FAMILIES.items():
        print(f"\n{family}\n  {'':<52} {'expected':>13} {'computed':>13} difference  source")
        rows = table_rows(checks)
        print("\n".join(rows))
        wrong += sum(row.startswith("✗") for row in rows)
        total += len(rows)
    print(f"\n{total} values, {wrong} disagree with their source")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
