# One image for web, worker, beat and the one-off jobs.
FROM python:3.11-slim-bookworm

RUN apt-get update \
 && apt-get install -y --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core \
 && rm -rf /var/lib/apt/lists/* \
 && useradd --system --uid 10001 --no-create-home --shell /usr/sbin/nologin colature

WORKDIR /srv/colature
COPY requirements.lock .
RUN pip install --no-cache-dir --require-hashes -r requirements.lock

COPY manage.py ./
COPY workshop workshop
COPY inventory inventory
COPY batches batches
COPY templates templates
COPY static static
RUN mkdir -p var/media /run/colature /backups \
 && SECRET_KEY=only-for-collecting-files-while-building python manage.py collectstatic --no-input \
 && chown -R colature: var /run/colature /backups

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
USER colature
EXPOSE 8000
