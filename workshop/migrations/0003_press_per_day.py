"""How many jars the workshop presses in a day."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("workshop", "0002_instruments")]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="press_per_day",
            field=models.PositiveSmallIntegerField(
                default=0,
                help_text="0: not said, so no day is ever too full.",
                verbose_name="jars pressed in a day",
            ),
        ),
    ]
