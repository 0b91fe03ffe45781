"""What is known of a ram: what a row states, joined with what is on the books."""

from __future__ import annotations

from datetime import date

from stell.core.records import Born, Ram, written_date


def born_both(known: Born | None, stated: Born | None) -> tuple[Born | None, bool]:
    """Return the days on which both can be true, and whether there are any.

    Examples
    --------
    >>> from datetime import date
    >>> born_both(Born.in_year(2024), Born.on(date(2024, 4, 2)))[0]
    Born(earliest=datetime.date(2024, 4, 2), latest=datetime.date(2024, 4, 2))
    >>> born_both(Born.in_year(2023), Born.in_year(2024))[1]
    False
    """
    if known is None or stated is None:
        return known or stated, True
    earliest = max(known.earliest, stated.earliest)
    latest = min(known.latest, stated.latest)
    return (Born(earliest, latest), True) if earliest <= latest else (stated, False)


def as_known(stated: Ram, known: Ram, flock_ram_type: str, day: date) -> Ram:
    """Return the ram as the judge is to see him that day: what is stated counts first."""
    born, _ = born_both(known.born, stated.born)
    if stated.age_class:
        age_class, age_class_on = stated.age_class, day
    elif known.age_class_on is not None and known.age_class_on <= day:
        age_class, age_class_on = known.age_class, known.age_class_on
    else:
        age_class, age_class_on = "", None
    return Ram(
        known.ram_id,
        known.tag,
        known.name,
        known.eid,
        stated.breed or known.breed,
        stated.ram_type or known.ram_type or flock_ram_type,
        born,
        age_class,
        age_class_on,
        stated.intended_use or known.intended_use,
    )


def learned(stated: Ram, known: Ram, day: date) -> Ram:
    """Return what is on the books afterwards: gaps filled, a birth narrowed, use as last stated.

    What contradicts the books does not change them (see `contradictions`).
    """
    born, fits = born_both(known.born, stated.born)
    is_later = known.age_class_on is None or day >= known.age_class_on
    takes_class = bool(stated.age_class) and is_later
    return Ram(
        known.ram_id,
        known.tag,
        known.name or stated.name,
        known.eid,
        known.breed or stated.breed,
        known.ram_type or stated.ram_type,
        born if fits else known.born,
        stated.age_class if takes_class else known.age_class,
        day if takes_class else known.age_class_on,
        stated.intended_use or known.intended_use,
    )


def contradictions(stated: Ram, known: Ram) -> list[str]:
    """Return in words what a row states and the books deny."""
    told = [
        f"{title} '{said}', on the books '{had}'"
        for title, said, had in (
            ("name", stated.name, known.name),
            ("breed", stated.breed, known.breed),
            ("type", stated.ram_type, known.ram_type),
        )
        if said and had and said.casefold() != had.casefold()
    ]
    _, fits = born_both(known.born, stated.born)
    if not fits and known.born and stated.born:
        told.append(f"born {_born_text(stated.born)}, on the books {_born_text(known.born)}")
    return told


def _born_text(born: Born) -> str:
    if born.is_exact:
        return written_date(born.earliest)
    return f"{written_date(born.earliest)} to {written_date(born.latest)}"


def states_otherwise(stated: Ram, then: Ram) -> list[str]:
    """Return the names of facts that a row states and that an examination on record lacks.

    A birth that is known more closely on record than in the row is no difference.
    """
    names = [
        name
        for name in ("breed", "ram_type", "age_class", "intended_use")
        if getattr(stated, name) and getattr(stated, name) != getattr(then, name)
    ]
    if stated.born is not None:
        both, fits = born_both(then.born, stated.born)
        if not fits or both != then.born:
            names.append("born")
    return names
