#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Every example of docs/openapi.yaml against a fresh daemon.
# shellcheck source=tests/whole/daemon.sh
. "$(dirname "$0")/../whole/daemon.sh"

# Every route of the program is described, and nothing else is.
routes() { sed -E 's/\{[a-z]+\}/{}/g' | sort -u; }
"$BUILD_DIR/web_server" routes | awk -F '\t' '$2 ~ "^/(v1|problems)/" { print tolower($1), $2 }' | routes >"$scratch/served"
awk '/^  \/.*:$/ { path = $1; sub(":$", "", path) } /^    (get|post|patch|put|delete):$/ { sub(":", ""); print $1, path }' \
	"$SOURCE_DIR/docs/openapi.yaml" | routes >"$scratch/described"
diff "$scratch/served" "$scratch/described" || {
	echo "routes (<) and docs/openapi.yaml (>) differ"
	exit 1
}

daemon_start one
node "$(dirname "$0")/run.mjs" "${daemon_url[one]}" "$ca" "$owner_key"
