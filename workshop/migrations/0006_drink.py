from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("workshop", "0005_currency")]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="drink",
            field=models.JSONField(
                blank=True, default=dict, help_text="Own standard drink: place, grams, source, dated."
            ),
        ),
    ]
