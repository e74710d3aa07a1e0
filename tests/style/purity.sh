#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# plan/ and share/ compute and do nothing else: no clock, file, socket, log, global thread or
# random source.  The linker knows: starting from every object of libplan.a and libshare.a,
# everything they call must be pure, and so must every object of base/ that they pull in.
#
# qsort, bsearch and the printf family onto memory are taken as pure; assert and abort end the
# process and answer nothing.  alloc.c may write its last words when memory is out.
# shellcheck source=tests/style/lib.sh
. "$(dirname "$0")/lib.sh"

pure='^(mem(chr|cmp|cpy|move|set|mem|rchr)|str(n?cmp|n?casecmp|n?cpy|n?len|r?chr|str|spn|cspn|pbrk|tok_r|n?dup)'
pure+='|stp(n?)cpy|strto(l|ul|ll|ull|imax|umax)|__isoc23_strto(l|ul|ll|ull)|v?snprintf|is[a-z]*|to(lower|upper)|__ctype_(b|tolower|toupper)_loc'
pure+='|malloc|calloc|realloc|reallocarray|free|qsort|qsort_r|bsearch|abs|labs|llabs|div|ldiv|lldiv'
pure+='|abort|__assert_fail|__stack_chk_fail|__errno_location|_GLOBAL_OFFSET_TABLE_'
pure+='|__(mem(cpy|move|set)|str(n?cpy|n?cat)|stpcpy|v?snprintf)_chk|__explicit_bzero_chk|explicit_bzero'
# the compiler's own: 128 bit arithmetic and bit counts
pure+='|__u?(div|mod|divmod|mul|ash[lr]|lshr)ti[34]|__(popcount|clz|ctz|parity)[dst]i2|__float(un)?ti[dsx]f|__fix(uns)?[dsx]fti'
pure+='|(ceil|floor|round|trunc|fabs|sqrt|fmin|fmax|fmod|log2?|log10|exp2?|pow|rint|nearbyint|llround|lround|lrint|llrint|frexp|ldexp|isinf|isnan|__isnan|__isinf)[fl]?'
# jansson on memory; Clp without its files
pure+='|json_[a-z0-9_]+|jsonp_[a-z0-9_]+|Clp_[A-Za-z]+)$'
refused='^(json_(load|dump)(f|fd|_file|_callback)|Clp_(readMps|writeMps|saveModel|restoreModel))$'
last_words='^alloc\.c\.o write$'

# impure LIB.a BASE.a: "object: symbol" for everything that reaches outside.
impure() {
	{
		nm -A --defined-only "$@" | awk '{print "def", $1, $NF}'
		nm -A -u "$@" | awk 'NF > 1 {print "use", $1, $NF}'
	} | awk -v first="$1" -v pure="$pure" -v refused="$refused" -v last_words="$last_words" '
		{ split($2, p, ":"); lib = p[1]; object = p[2] }
		$1 == "def" { owner[$3] = object }
		$1 == "def" && lib == first { reached[object] = 1 }
		$1 == "use" { uses[object] = uses[object] " " $3 }
		END {
			do {
				grown = 0
				for (o in reached) {
					n = split(uses[o], s, " ")
					for (i = 1; i <= n; i++)
						if ((s[i] in owner) && !(owner[s[i]] in reached)) {
							reached[owner[s[i]]] = 1
							by[owner[s[i]]] = o
							grown = 1
						}
				}
			} while (grown)
			for (o in reached) {
				n = split(uses[o], s, " ")
				for (i = 1; i <= n; i++) {
					if (s[i] in owner)
						continue
					if (s[i] ~ pure && s[i] !~ refused || (o " " s[i]) ~ last_words)
						continue
					print o ": " s[i] (o in by ? " (pulled in by " by[o] ")" : "")
				}
			}
		}' | sort
}

# globals LIB.a: variables that outlive a call; constant tables are none.
globals() {
	objdump -t "$1" | awk '/file format/ { sub(/:.*/, ""); object = $0 }
		$0 ~ /[[:space:]]O \.(data|bss|tdata|tbss)(\.[a-zA-Z_]+)?[[:space:]]/ && !/\.data\.rel\.ro/ {
			print object ": " $NF " keeps a value between calls"
		}'
}

# planted NAME 'C text': an archive with one object, built the way plan/ is.
planted() {
	printf '%s\n' "$2" >"$scratch/$1.c"
	"${CC:-cc}" -O2 -c -o "$scratch/$1.c.o" "$scratch/$1.c"
	rm -f "$scratch/lib$1.a"
	ar rcs "$scratch/lib$1.a" "$scratch/$1.c.o"
	echo "$scratch/lib$1.a"
}

base=${BUILD_DIR:?}/libbase.a
must_find "a clock" 'clock\.c\.o: time' impure \
	"$(planted clock '#include <time.h>
long now(void) { return (long)time(0); }')" "$base"
must_find "a solver writing a file" 'file\.c\.o: Clp_writeMps' impure \
	"$(planted file 'int Clp_writeMps(void *, const char *); int f(void *m) { return Clp_writeMps(m, "x"); }')" "$base"
must_find "a log line by way of base" 'log\.c\.o: (clock_gettime|write)' impure \
	"$(planted logs 'void log_event(int, const char *, const char *, ...); void f(void) { log_event(1, "a", "b"); }')" "$base"
must_find "a counter that outlives a call" 'count\.c\.o: calls keeps' globals \
	"$(planted count 'static int calls; int f(void) { return ++calls; }')"

for lib in plan share; do
	if [ -e "$BUILD_DIR/lib$lib.a" ]; then
		must_be_silent "$lib/ reaches outside" impure "$BUILD_DIR/lib$lib.a" "$base"
		must_be_silent "$lib/ has globals" globals "$BUILD_DIR/lib$lib.a"
	else
		echo "$BUILD_DIR/lib$lib.a is not built"
		wrong=1
	fi
done
finish
