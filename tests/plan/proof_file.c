/* SPDX-License-Identifier: MIT */
/*
 * Reads a problem and a certificate, and says whether the one proves the other's bound.
 *
 *     proof_file PROBLEM CERTIFICATE
 *
 * Exit 0: no plan has fewer fresh rolls; 1: the prices do not show it; 2: the certificate
 * has no prices; 3: the lengths are too fine for the tables; 4: not readable.
 */
#include <stdio.h>
#include <stdlib.h>

#include "proof.h"

static bool read_file(const char *path, struct text *out)
{
	FILE *f = fopen(path, "r");
	char chunk[4096];
	size_t n;

	if (f == NULL)
		return false;
	while ((n = fread(chunk, 1, sizeof(chunk), f)) > 0)
		text_add_bytes(out, chunk, n);
	return fclose(f) == 0 && text_fits(out);
}

int main(int argc, char **argv)
{
	struct text asked, proof;
	struct problem *problem = NULL;
	struct err err = {0};
	const char *why = "cannot be read";
	int status = 4;

	text_init(&asked, PROBLEM_TEXT_MAX);
	text_init(&proof, PROBLEM_TEXT_MAX);
	if (argc == 3 && read_file(argv[1], &asked) &&
	    read_file(argv[2], &proof) &&
	    problem_read(asked.data, asked.len, &problem, NULL, &err))
		status = (int)proof_check(problem, proof.data, proof.len, &why);
	if (status != 0)
		fprintf(stderr, "proof_file: %s %s\n", why, err.text);
	problem_delete(problem);
	text_free(&asked);
	text_free(&proof);
	return status;
}
