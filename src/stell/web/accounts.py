"""Accounts of the site. As a program it makes one, told by JSON on standard input."""

from __future__ import annotations

import json
import os
import sys

from stell.core.errors import StellError, ValueRefused


def put_account(name: str, password: str) -> None:
    """Make an account, or give the account of that name a new password.

    Raises
    ------
    ValueRefused
        `value.choice` for a name that cannot be used, or a password that is too weak.
    """
    from django.contrib.auth import get_user_model
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError
    from django.db import transaction

    users = get_user_model()
    with transaction.atomic():
        user = users.objects.filter(username=name).first() or users(username=name)
        user.set_password(password)
        try:
            user.full_clean(exclude=["password"])
            validate_password(password, user)
        except ValidationError as error:
            raise ValueRefused(
                "value.choice",
                "the account cannot be made: " + " ".join(error.messages),
                got=name,
                legal="a name of letters, digits and @.+-_; a password of 12 signs or more",
                example="anna.vet",
            ) from None
        user.save()


def _main() -> int:
    os.environ["DJANGO_SETTINGS_MODULE"] = "stell.web.settings"
    import django

    django.setup()
    from stell.services.opening import data_folder, open_store

    wanted = json.load(sys.stdin)
    open_store(data_folder())
    try:
        put_account(wanted["name"], wanted["password"])
    except StellError as error:
        json.dump(error.as_dict(), sys.stdout)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(_main())
