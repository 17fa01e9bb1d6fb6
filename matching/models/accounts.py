"""People who can sign in."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser


class Account(AbstractUser):
    """A person. Our own class from the first day, because it cannot be swapped later."""

    def __str__(self) -> str:
        return self.username
