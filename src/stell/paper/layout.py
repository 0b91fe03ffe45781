"""The one definition of every form: what stands where, in millimetres, made from the protocol.

A form is a list of items on pages. The printer draws them and, when a filled form is read back,
the same list says where each box is and what a cross in it means. Nothing here knows a check by
name: another order in the protocol is another order on the paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stell.core.protocol.ready import ReadyCheck, ReadyProtocol

# The pages' corners stay free of print, for marks by which a photograph can be set straight.
CORNER = 12.0
CAUTION = (
    "Rams butt: never turn your back, keep a way out, do not work alone unannounced. Gloves: orf "
    "and ringworm pass to people. Suspected notifiable disease: stop and report. Semen is "
    "collected only by or under a vet, as local law allows."
)
LEAST_WRITE = 8.0  # a box to write in with a wet glove and a waterproof pen


@dataclass(frozen=True, slots=True)
class Item:
    """One thing on a form. Places in mm from the top left corner of the page.

    Attributes
    ----------
    kind : str
        ``text``; ``tick`` (a box to cross); ``write`` (a box to write in); ``line``; ``fold`` (a
        line to fold along); ``band`` (a shaded stretch); ``mark`` (a verdict's shape).
    page : int
        From 1.
    x, y, width, height : float
        [mm]
    text : str
        What is printed; for a mark the verdict.
    style : str
        For text, of its first line; further lines are small: ``title``, ``stop``, ``check``,
        ``plain``, ``small``, ``right``, ``centre``, ``tag``, ``figure``; ``caution``, which is
        never set smaller than 7.5 pt.
    field : str
        What the box means: ``feet=scald``, ``circumference#1``, ``stop:head``, ``ram:tag``.
    """

    kind: str
    page: int
    x: float
    y: float
    width: float
    height: float
    text: str = ""
    style: str = "plain"
    field: str = ""

    @property
    def bottom(self) -> float:
        """Lower edge. [mm]"""
        return self.y + self.height

    @property
    def right(self) -> float:
        """Right edge. [mm]"""
        return self.x + self.width


@dataclass(frozen=True, slots=True)
class Form:
    """A whole form, ready to be drawn.

    Attributes
    ----------
    form_id : str
        Names the kind of form and the protocol's contents; printed on every page.
    title : str
    width, height : float
        Of every page. [mm]
    pages : int
    items : tuple of Item
        In the order in which they are read.
    """

    form_id: str
    title: str
    width: float
    height: float
    pages: int
    items: tuple[Item, ...]

    def boxes(self) -> dict[str, Item]:
        """Return every box by what it means, page and field together on forms of many rams."""
        return {i.field: i for i in self.items if i.kind in ("tick", "write") and i.field}


@dataclass(frozen=True, slots=True)
class Station:
    """A stop of the walk with what is asked there, in the protocol's order.

    `checks` holds one entry for a check with sides; its sides are in `sides`.
    """

    stop_id: str
    number: int
    title: str
    caution: str
    checks: tuple[Asked, ...]

    @property
    def always(self) -> tuple[Asked, ...]:
        """The checks that every ram gets."""
        return tuple(a for a in self.checks if a.always)


@dataclass(frozen=True, slots=True)
class Asked:
    """One check as it is asked on paper.

    Attributes
    ----------
    first : ReadyCheck
        The check, or its first side.
    sides : tuple of (letter, check id)
        ``("L", "testis_left")``; a single pair with an empty letter without sides.
    always : bool
        Asked of every ram; else only when something makes it worth asking.
    """

    first: ReadyCheck
    sides: tuple[tuple[str, str], ...]
    always: bool

    @property
    def title(self) -> str:
        """The check's own title, without a side."""
        return self.first.spec.title

    @property
    def short(self) -> str:
        """The title for a narrow place."""
        return self.first.spec.short or self.first.spec.title

    @property
    def options(self) -> tuple[tuple[str, str], ...]:
        """Id and label of every answer, the normal one first."""
        said = sorted(self.first.spec.option, key=lambda o: not o.normal)
        return tuple((o.id, o.label) for o in said)

    @property
    def readings(self) -> int:
        """How many readings there is room for."""
        return 2 if self.first.spec.second_reading_near_limit else 1


def stations(protocol: ReadyProtocol) -> tuple[Station, ...]:
    """Return the walk round the ram as the protocol orders it, without stops that ask nothing."""
    found: list[Station] = []
    for stop in protocol.spec.stop:
        asked = tuple(_asked(protocol, c.id) for c in protocol.spec.check if c.stop == stop.id)
        if asked:
            found.append(Station(stop.id, len(found) + 1, stop.title, stop.caution, asked))
    return tuple(found)


def _asked(protocol: ReadyProtocol, base: str) -> Asked:
    ready = [c for c in protocol.checks.values() if c.base == base]
    letters = _letters([c.side for c in ready])
    return Asked(
        first=ready[0],
        sides=tuple((letter, c.id) for letter, c in zip(letters, ready, strict=True)),
        always=ready[0].id in protocol.always_required,
    )


def _letters(sides: Sequence[str]) -> list[str]:
    """Return the sides' first letters, or more where those would be alike."""
    for length in range(1, 60):
        cut = [s[:length].capitalize() for s in sides]
        if len(set(cut)) == len(sides):
            return cut
    return list(sides)


class Sheet:
    """A page in the making: puts items down and turns the page when there is no more room."""

    def __init__(self, width: float, height: float, *, left: float, top: float, foot: float):
        self.width = width
        self.height = height
        self.left = left
        self.top = top
        self.foot = foot
        self.page = 1
        self.y = top
        self.items: list[Item] = []

    @property
    def inner(self) -> float:
        """Width between the margins. [mm]"""
        return self.width - 2 * self.left

    def put(
        self,
        kind: str,
        x: float,
        y: float,
        width: float,
        height: float,
        text: str = "",
        style: str = "plain",
        field: str = "",
    ) -> None:
        """Put an item on the current page. [mm]"""
        self.items.append(Item(kind, self.page, x, y, width, height, text, style, field))

    def has_room(self, height: float) -> bool:
        """Whether so much more fits on this page. [mm]"""
        return self.y + height <= self.foot

    def turn(self) -> None:
        """Go on at the top of the next page."""
        self.page += 1
        self.y = self.top

    def form(self, form_id: str, title: str, caution: str, *, right: float) -> Form:
        """Return what has been put down, with caution, name and number at the foot of each page.

        `right` is where the foot ends. [mm]
        """
        last = self.page
        for self.page in range(1, last + 1):
            y = self.height - CORNER - 2.9
            self.put("text", CORNER + 1, y, right - CORNER - 67, 9.8, caution, "caution")
            named = f"form {form_id}, page {self.page} of {last}"
            self.put("text", right - 64, y, 64, 5, named, "right")
        items = sorted(self.items, key=lambda i: i.page)
        return Form(form_id, title, self.width, self.height, last, tuple(items))


def form_id(kind: str, protocol: ReadyProtocol) -> str:
    """Return the name by which a printed form is known again.

    It holds the first signs of the protocol's check sum: a form printed from another version has
    other boxes.
    """
    return f"{kind} {protocol.id} {protocol.version} {protocol.digest[:8]}"
