#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Run the console blocks of docs/access.md, erasure.md and breach.md, one story, as those of README.md are run.
set -euo pipefail
SOURCE_DIR=${SOURCE_DIR:-$(cd "$(dirname "$0")/../.." && pwd)}
export BUILD_DIR=${BUILD_DIR:-$SOURCE_DIR/.build/release}
story=$(mktemp -d)
trap 'rm -rf "$story"' EXIT
cat "$SOURCE_DIR"/docs/{access,erasure,breach}.md >"$story/privacy.md"
SOURCE_DIR=$story DOC=privacy.md "$(dirname "$0")/readme.sh"
