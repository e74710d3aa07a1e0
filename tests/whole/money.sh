#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Treasurers at two daemons on one throw-away PostgreSQL.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=tests/support/pg.sh
. "$here/../support/pg.sh"

folder=$(mktemp -d)
trap 'pg_stop; rm -rf "$folder"' EXIT
pg_start
trap 'pg_stop; rm -rf "$folder"' EXIT
node "$here/money.mjs" "$PG_OWNER" "$PG_DAEMON" "$folder"
