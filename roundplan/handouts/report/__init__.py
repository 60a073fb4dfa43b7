"""The programme manager's report, a section a module, and the one-page summary for a ministry."""

from roundplan.handouts.report.page import render

__all__ = ["render"]
