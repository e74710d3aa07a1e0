#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The pages in a real browser, against a real daemon: walk.sh on|off, with scripts or without.
#
# walk.mjs has the way and what must be seen; what the server sent is kept in
# $BUILD_DIR/pages for valid.sh.  SHOTS=FOLDER keeps pictures of all pages too.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
missing=""
command -v node >/dev/null || missing+=" node"
[ -d "$here/node_modules/playwright-core" ] || missing+=" tests/browser/node_modules"
[ -x "${CHROMIUM:=/usr/bin/chromium}" ] || missing+=" $CHROMIUM"
if [ -n "$missing" ]; then
	echo "skipped: there is no$missing (deploy/setup installs what tests need)"
	exit 77
fi
export CHROMIUM
# shellcheck source=tests/whole/daemon.sh
. "$here/../whole/daemon.sh"

scripts=${1:-on}
pages=$BUILD_DIR/pages
rm -f "$pages/script-$scripts"-*.html
daemon_start one --studio "Harbour Light Studio"
cd "$here" || exit
node walk.mjs "${daemon_url[one]}" "$owner_key" "$pages" "$scripts" ${SHOTS:+"$SHOTS"}

# Nothing secret is in the log: no key, no invitation, no cookie.
if grep -aE 'tsk_[A-Za-z0-9_-]{43}|/join/[0-9A-Z]{13}|__Host-studio=' "$scratch/one.log"; then
	echo "FAILED: the log holds a secret" >&2
	exit 1
fi
