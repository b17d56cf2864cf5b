"""Which state of a vehicle's records is the present one: what is worked out of them may be kept under it."""

from __future__ import annotations

import uuid

from django.db import models


class VehicleVersion(models.Model):
    """Renewed by every act that concerns the vehicle, in the same transaction: never the same one twice, so nothing that
    was kept under another state, or under one that was rolled back, is ever taken for this one.

    vehicle: its key, of one struck out too; "" stands for every vehicle.
    """

    vehicle = models.CharField(max_length=250, primary_key=True)
    version = models.UUIDField(default=uuid.uuid4)

    def __str__(self) -> str:
        return f"{self.vehicle or 'every vehicle'}: {self.version}"
