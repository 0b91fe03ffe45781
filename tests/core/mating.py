"""A start of mating, figures to count back from it, and a deferred ram, for the tests."""

from datetime import date, timedelta

from stell.core.protocol.schema import Figure, Timing
from stell.core.readiness import DeferredRam

START = date(2026, 10, 4)


def figure(value: float, low: float | None, high: float | None, unit: str) -> Figure:
    return Figure(value=value, low=low, high=high, unit=unit)


# Figures of the trade as summed up in the protocol's sources: examine 8-10 weeks ahead, 60 days
# from an insult to clean semen, quarantine of 3-6 weeks. Here they only give the sums something
# to do; the shipped figures are the protocol's.
TIMING = Timing(
    ideal_examination=figure(10, 8, 10, "weeks"),
    last_sensible_examination=figure(8, 6, 8, "weeks"),
    sperm_cycle=figure(60, 49, 70, "days"),
    early_reexamination=figure(28, 14, 30, "days"),
    quarantine=figure(28, 21, 42, "days"),
    settling=figure(14, 7, 28, "days"),
    shearing_lead=figure(6, 6, 8, "weeks"),
    stress_free=figure(30, 28, 30, "days"),
    condition_lead=figure(8, 8, 10, "weeks"),
)


def ram(days: int, *, examined_on: date = date(2026, 8, 30), name: str = "Bert") -> DeferredRam:
    return DeferredRam(name, name, examined_on, examined_on + timedelta(days), "fever")
