from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("people", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="person",
            name="initial_until",
            field=models.DateTimeField(
                blank=True,
                help_text="Set while the password is the one the owner handed out.",
                null=True,
            ),
        ),
        migrations.CreateModel(
            name="SetupCode",
            fields=[
                (
                    "id",
                    models.PositiveSmallIntegerField(
                        default=1, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("digest", models.CharField(max_length=64)),
                ("issued_at", models.DateTimeField()),
            ],
            options={
                "constraints": [models.CheckConstraint(condition=models.Q(("id", 1)), name="one_setup_code")],
            },
        ),
        migrations.CreateModel(
            name="Throttle",
            fields=[
                ("key", models.CharField(max_length=80, primary_key=True, serialize=False)),
                ("misses", models.PositiveIntegerField(default=0)),
                ("last_at", models.DateTimeField()),
                ("closed_until", models.DateTimeField(null=True)),
            ],
        ),
    ]
