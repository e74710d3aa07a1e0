#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# kill -9 at random moments: what was acknowledged is there, each thing once.  KILLS and SEED
# repeat a run; the slower variants do fewer.
set -euo pipefail
kills=30
[ "${VARIANT:-release}" = release ] || kills=10
exec node "$(dirname "$0")/kill.mjs" "${KILLS:-$kills}" "${SEED:-20261125}"
