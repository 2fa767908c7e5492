"""A vessel has its turn in the row of its place."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("batches", "0005_pot_herb")]

    operations = [
        migrations.AddField(
            model_name="vessel",
            name="position",
            field=models.PositiveSmallIntegerField(default=0, verbose_name="turn in its place"),
        ),
    ]
