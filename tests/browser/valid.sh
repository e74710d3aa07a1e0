#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# What the server sent on the walk is valid HTML: html-validate over every page of walk.sh.
set -euo pipefail
cd "$(dirname "$0")"
if [ ! -x node_modules/.bin/html-validate ]; then
	echo "skipped: there is no tests/browser/node_modules (deploy/setup installs what tests need)"
	exit 77
fi
shopt -s nullglob
pages=("$BUILD_DIR"/pages/script-*.html)
if [ ${#pages[@]} -lt 40 ]; then
	echo "FAILED: the walk left ${#pages[@]} pages, fewer than 40" >&2
	exit 1
fi
node_modules/.bin/html-validate --config .htmlvalidate.json "${pages[@]}"
echo "${#pages[@]} pages are valid"
