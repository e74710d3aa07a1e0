#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Every example of docs/openapi.yaml against a fresh daemon.
# shellcheck source=tests/whole/daemon.sh
. "$(dirname "$0")/../whole/daemon.sh"

daemon_start one
node "$(dirname "$0")/run.mjs" "${daemon_url[one]}" "$ca" "$owner_key"
