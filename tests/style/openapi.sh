#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# docs/openapi.yaml is a clean OpenAPI description.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

tools=$SOURCE_DIR/tests/browser/node_modules
if [ ! -d "$tools/@redocly/cli" ]; then
	echo "$tools is not there; deploy/setup installs it"
	exit 1
fi

# The linter would like to tell its makers that it ran, and to look for a newer self.
lint() {
	(cd "$1/docs" && REDOCLY_TELEMETRY=off REDOCLY_SUPPRESS_UPDATE_NOTICE=true CI=true NO_COLOR=1 \
		node "$tools/@redocly/cli/bin/cli.js" lint --format=stylish openapi.yaml 2>&1) >"$scratch/lint" ||
		cat "$scratch/lint"
}

mkdir -p "$scratch/tree/docs"
printf 'openapi: 3.1.0\ninfo: {title: planted, version: "1"}\npaths: {/a: {get: {responses: {}}}}\n' \
	>"$scratch/tree/docs/openapi.yaml"
must_find "an operation without answers" 'operation-4xx-response|security-defined|responses' lint "$scratch/tree"

if [ -e "$SOURCE_DIR/docs/openapi.yaml" ]; then
	must_be_silent "docs/openapi.yaml" lint "$SOURCE_DIR"
fi
finish
