FROM python:3.11-slim AS build
WORKDIR /source
COPY pyproject.toml README.md ./
COPY .ci/constraints.txt .ci/constraints.txt
COPY service service
COPY alembic alembic
RUN pip wheel --no-cache-dir --no-deps --wheel-dir /dist .
RUN python -m venv /opt/coilgap && /opt/coilgap/bin/pip install --no-cache-dir -c .ci/constraints.txt /dist/*.whl

FROM python:3.11-slim
RUN useradd --system --no-create-home coilgap && install --directory --owner=coilgap /data
COPY --from=build /opt/coilgap /opt/coilgap
ENV PATH=/opt/coilgap/bin:$PATH PYTHONUNBUFFERED=1
# Inside of a container the loopback address reaches nobody, so the service listens on all of them, and refuses to start
# as long as no key is in force. Issue one first, into the same volume or database:
#   docker run --rm -v coilgap:/data IMAGE python -m service keys issue NAME --scopes evaluate,catalogue
ENV COILGAP_HOST=0.0.0.0 COILGAP_PORT=8000
ENV COILGAP_DATABASE_URL=sqlite:////data/coilgap.sqlite3
USER coilgap
WORKDIR /data
VOLUME /data
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s CMD ["python", "-c", "import os, urllib.request; urllib.request.urlopen('http://127.0.0.1:' + os.environ['COILGAP_PORT'] + '/healthz', timeout=3)"]
CMD ["sh", "-c", "python -m service migrate && exec python -m service"]
