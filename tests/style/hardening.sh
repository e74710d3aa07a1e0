#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The release programs are linked as the OpenSSF guide for C asks (Compiler Options Hardening
# Guide): position independent, bound at start, read-only relocations, no executable stack,
# stack protector and fortified calls in use, no search path of their own.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

soft() {
	local program=$1 dynamic symbols
	dynamic=$(readelf -Wd "$program")
	symbols=$(readelf -Ws --dyn-syms "$program")
	readelf -h "$program" | grep -qE 'Type:[[:space:]]+DYN' && grep -q 'Flags:.*\bPIE\b' <<<"$dynamic" ||
		echo "not position independent"
	grep -qE 'BIND_NOW|Flags:.*\bNOW\b' <<<"$dynamic" || echo "not bound at start (no BIND_NOW)"
	readelf -Wl "$program" | grep -q GNU_RELRO || echo "no GNU_RELRO"
	readelf -Wl "$program" | grep -E 'GNU_STACK' | grep -qE 'RW[[:space:]]' || echo "executable stack"
	grep -qE '__[a-z]+_chk\b' <<<"$symbols" || echo "no fortified call (__*_chk)"
	grep -q '__stack_chk_fail' <<<"$symbols" || echo "no stack protector"
	if grep -qE 'RPATH|RUNPATH' <<<"$dynamic"; then echo "has a library search path"; fi
}

# Debian's start files carry no control flow marks, so a whole program has none; our objects do.
unmarked() {
	readelf -n "$1" | awk '/^File:/ { if (object && !marked) print object; object = $2; marked = 0 }
		/IBT, SHSTK/ { marked = 1 }
		END { if (object && !marked) print object }' | sed 's/$/: no control flow marks (IBT, SHSTK)/'
}

printf '#include <stdio.h>\nint main(int c, char **v) { char b[9]; sprintf(b, "%%s", v[c - 1]); return puts(b); }\n' \
	>"$scratch/soft.c"
"${CC:-cc}" -w -O1 -U_FORTIFY_SOURCE -fno-stack-protector -fcf-protection=none -no-pie \
	-Wl,-z,norelro,-z,lazy,-z,execstack,-rpath,/nowhere -o "$scratch/soft" "$scratch/soft.c" 2>/dev/null
for finding in "not position independent" "not bound at start" "no GNU_RELRO" "executable stack" \
	"no fortified call" "no stack protector" "library search path"; do
	must_find "$finding" "$finding" soft "$scratch/soft"
done
"${CC:-cc}" -w -c -fcf-protection=none -o "$scratch/soft.o" "$scratch/soft.c"
ar rcs "$scratch/libsoft.a" "$scratch/soft.o"
must_find "no control flow marks" 'soft\.o.*: no control flow marks' unmarked "$scratch/libsoft.a"

seen=0
for program in tearshared tearshare; do
	if [ -x "${BUILD_DIR:?}/$program" ]; then
		seen=$((seen + 1))
		must_be_silent "$program" soft "$BUILD_DIR/$program"
	fi
done
for lib in "$BUILD_DIR"/lib{base,plan,share,store,print,http,web,work,cli}.a; do
	must_be_silent "$lib" unmarked "$lib"
done
if [ $seen -ne 2 ]; then
	echo "only $seen of the two programs are built in $BUILD_DIR"
	wrong=1
fi
finish
