#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The same way in a browser without scripts.
exec "$(dirname "$0")/walk.sh" off
