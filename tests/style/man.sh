#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Man pages are clean under mandoc.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

pages() {
	(cd "$1" && sources . -path './docs/*.[1-8]' | while read -r page; do
		# a date is wanted; that it is not the operating system's own manual is no fault
		mandoc -Tlint -Wstyle "$page" | grep -vE 'operating system explicitly|Mdocdate|referenced manual not found' || true
	done)
}

mkdir -p "$scratch/tree/docs"
printf '.Dd January 1, 2026\n.Dt PLANTED 1\n.Os\n.Sh NAME\n.Nm planted\n.Nd is planted\n.Sh DESCRIPTION\n.Xx\n' \
	>"$scratch/tree/docs/planted.1"
must_find "an unknown macro" 'planted\.1:8:.*unknown macro' pages "$scratch/tree"

must_be_silent "mandoc" pages "$SOURCE_DIR"
finish
