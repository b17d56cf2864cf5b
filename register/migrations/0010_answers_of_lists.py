"""The answers to the questions of a list are kept with it."""

from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("register", "0009_findings")]

    operations = [
        migrations.AddField(
            model_name="listmapping", name="answers", field=models.JSONField(default=dict)
        )
    ]
