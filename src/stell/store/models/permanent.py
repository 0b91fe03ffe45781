"""Rows that are written once. The tables carry triggers as well (see `store.guards`)."""

from __future__ import annotations

from typing import Any, NoReturn

from django.db import models

from stell.core.errors import RecordError


class PermanentQuerySet(models.QuerySet[Any]):
    """Refuses what would change or remove rows."""

    def update(self, **kwargs: Any) -> NoReturn:
        """Refuse."""
        raise refusal(self.model, ", ".join(kwargs))

    def delete(self) -> NoReturn:
        """Refuse."""
        raise refusal(self.model, "removal")


class Permanent(models.Model):
    """A row that is written once and never changed or removed."""

    objects = PermanentQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Insert; refuse to write over a stored row."""
        if not self._state.adding:
            raise refusal(type(self), "a change")
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:  # noqa: ARG002
        """Refuse."""
        raise refusal(type(self), "removal")


def refusal(model: type[models.Model], what: str) -> RecordError:
    """Return the error that says why a stored row stays as it is."""
    return RecordError(
        "record.immutable",
        f"what is on record ({model._meta.verbose_name}) cannot be changed or removed",
        got=what,
        legal="a correction with a reason: a new record that names the one it replaces",
        example='stell correct … --reason "left and right were swapped"',
    )
