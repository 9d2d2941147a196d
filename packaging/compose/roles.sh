#!/bin/bash
# Run once by the image of PostgreSQL when its volume is first made. Two logins, neither a superuser: the keeper owns
# the journal's tables and brings them up to date, the program's own may do what the keeper grants it.
set -euo pipefail
: "${RIGTALLY_KEEPER_PASSWORD:?choose a password for the role that owns the tables}"
: "${RIGTALLY_APP_PASSWORD:?choose a password for the role of the program}"

# The environment is read by psql, which quotes it: a password stands in no list of processes.
psql --no-psqlrc --quiet --set ON_ERROR_STOP=1 --username "$POSTGRES_USER" --dbname postgres <<'SQL'
\getenv keeper RIGTALLY_KEEPER_PASSWORD
\getenv app RIGTALLY_APP_PASSWORD
CREATE ROLE rigtally_keeper LOGIN NOSUPERUSER CREATEROLE PASSWORD :'keeper';
CREATE ROLE rigtally_app LOGIN NOINHERIT NOSUPERUSER NOCREATEROLE NOCREATEDB PASSWORD :'app';
CREATE DATABASE rigtally OWNER rigtally_keeper;
REVOKE ALL ON DATABASE rigtally FROM PUBLIC;
GRANT CONNECT, TEMPORARY ON DATABASE rigtally TO rigtally_app;
SQL
