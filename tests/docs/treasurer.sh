#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Run the console blocks of docs/treasurer.md as those of README.md are run.
set -euo pipefail
DOC=docs/treasurer.md exec "$(dirname "$0")/readme.sh"
