# rigtally with everything inside, for a PostgreSQL elsewhere: see docker-compose.yml.
FROM node:22-bookworm-slim AS fetched
WORKDIR /rigtally/web/assets
COPY web/assets/package.json web/assets/package-lock.json web/assets/.npmrc web/assets/assets.mjs ./
RUN mkdir -p ../door/known && npm ci --loglevel=error && npm run --silent build

FROM golang:1.26-bookworm AS build
WORKDIR /rigtally
COPY go.mod go.sum ./
RUN go mod download
COPY . .
COPY --from=fetched /rigtally/web/static/vendor web/static/vendor
COPY --from=fetched /rigtally/web/door/known/passwords.txt web/door/known/
# The copy belongs to another user than it did, and git has to be told that it may be read. Without a .git the
# program is built all the same, and does not tell its commit.
RUN git config --global --add safe.directory /rigtally && \
    CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /out/rigtally ./cmd/rigtally

FROM debian:bookworm-slim
RUN apt-get update -q && \
    apt-get install -q -y --no-install-recommends ca-certificates curl && \
    rm -rf /var/lib/apt/lists/*
RUN useradd --system --user-group --home-dir /var/lib/rigtally --shell /usr/sbin/nologin rigtally && \
    install -d -o rigtally -g rigtally -m 0700 /var/lib/rigtally
COPY --from=build /out/rigtally /usr/bin/rigtally
USER rigtally
ENV HOME=/var/lib/rigtally RIGTALLY_DATA_DIR=/var/lib/rigtally/journal RIGTALLY_NO_BROWSER=1 RIGTALLY_PORT=7337
VOLUME /var/lib/rigtally
EXPOSE 7337
# Any answer will do: without a sign-in the pages may well refuse to say more.
HEALTHCHECK --interval=10s --timeout=5s --start-period=30s --retries=6 \
    CMD curl --silent --output /dev/null "http://127.0.0.1:$RIGTALLY_PORT/"
ENTRYPOINT ["/usr/bin/rigtally"]
CMD ["serve"]
