"""What a sender raises when a message did not get through."""

from __future__ import annotations

from datetime import timedelta


class DeliveryError(Exception):
    """A message was not taken. `reason` is short and holds nothing about a patient.

    permanent: trying again cannot help. gone: the address is dead for good.
    retry_after: how long the service asked us to wait, where it said so.
    """

    def __init__(
        self,
        reason: str,
        *,
        permanent: bool,
        gone: bool = False,
        retry_after: timedelta | None = None,
    ) -> None:
        super().__init__(reason)
        self.reason = reason
        self.permanent = permanent
        self.gone = gone
        self.retry_after = retry_after
