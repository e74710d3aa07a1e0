/* SPDX-License-Identifier: MIT */
/*
 * Rows of values, read back by the tests' own reader of RFC 4180 (tests/support/csv.c, which
 * knows nothing of the writer).
 */
#include "csv_out.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "csv.h"

#define CELLS 5
#define ROWS 200

static uint64_t next(uint64_t *seed)
{
	*seed = *seed * UINT64_C(6364136223846793005) + 1442695040888963407;
	return *seed >> 33;
}

/* Texts out of pieces that break careless writers. */
static void draw(uint64_t *seed, char out[static 64])
{
	static const char *const pieces[] = {"", "=", "+", "-", "@", "\t", "\r",
	    "\n", "\r\n", "\"", "\"\"", ",", ";", "'", " ", "a", "1", "=1+2",
	    "\xC3\xA9", "\xEF\xBC\x9D", "\xD7\xA9", "\xF0\x9F\x8E\xA8"};
	size_t n = next(seed) % 6;

	out[0] = '\0';
	for (size_t i = 0; i < n; i++)
		strcat(out,
		    pieces[next(seed) % (sizeof(pieces) / sizeof(pieces[0]))]);
}

/* What a reader must find for a text that was written. */
static void expected(const char *s, char out[static 80])
{
	bool start = *s != '\0' && (strchr("=+-@\t\r\n", *s) != NULL ||
				       strncmp(s, "\xEF\xBC\x9D", 3) == 0);

	snprintf(out, 80, "%s%.70s", start ? "'" : "", s);
}

static struct csv *reopened(const struct text *t)
{
	char path[] = "/tmp/csv_out.XXXXXX";
	int fd = mkstemp(path);

	cr_assert(fd >= 0);
	cr_assert_eq(write(fd, t->data, t->len), (ssize_t)t->len);
	close(fd);
	struct csv *csv = csv_open(path);
	unlink(path);
	return csv;
}

Test(csv_out, reads_back_as_it_was_written)
{
	for (uint64_t first = 1; first <= 20; first++) {
		uint64_t seed = first;
		static char texts[ROWS][CELLS][64];
		struct text out;
		text_init(&out, 1 << 22);
		for (size_t r = 0; r < ROWS; r++) {
			for (size_t c = 0; c < CELLS; c++) {
				draw(&seed, texts[r][c]);
				csv_text(&out, texts[r][c]);
			}
			csv_number(&out, -(int64_t)r);
			csv_end(&out);
		}
		cr_assert(text_fits(&out));
		struct csv *csv = reopened(&out);
		for (size_t r = 0; r < ROWS; r++) {
			char wanted[80];
			cr_assert(
			    csv_next(csv), "seed %d, row %zu", (int)first, r);
			cr_assert_eq(csv_width(csv), CELLS + 1,
			    "seed %d, row %zu: %zu cells", (int)first, r,
			    csv_width(csv));
			for (size_t c = 0; c < CELLS; c++) {
				expected(texts[r][c], wanted);
				cr_expect_str_eq(csv_field(csv, c), wanted,
				    "seed %d, row %zu", (int)first, r);
			}
			cr_expect_eq(
			    atoll(csv_field(csv, CELLS)), -(long long)r);
		}
		cr_expect(!csv_next(csv), "a row too many");
		csv_close(csv);
		text_free(&out);
	}
}

/* The starts that the OWASP page "CSV Injection" names (from memory). */
Test(csv_out, no_text_begins_as_a_formula)
{
	static const char *const rows[] = {"=1+1", "+1", "-1", "@SUM(A1)",
	    "\tx", "\rx", "\nx", "\xEF\xBC\x9D x"};
	struct text out;

	text_init(&out, 1 << 16);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		csv_text(&out, rows[i]);
		cr_expect(strncmp(out.data, "\"'", 2) == 0, "%s", out.data);
		text_reset(&out);
	}
	csv_number(&out, -1200);
	cr_expect_str_eq(out.data, "-1200");
	text_reset(&out);
	csv_figure(&out, "-12.00");
	csv_id(&out, 0);
	csv_id(&out, 7);
	csv_end(&out);
	cr_expect_str_eq(out.data, "-12.00,\"\",7\r\n");
	text_free(&out);
}
