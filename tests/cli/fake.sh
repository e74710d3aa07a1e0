#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The command line against servers that behave badly.
exec node "$(dirname "$0")/fake.mjs" "$BUILD_DIR/tearshare"
