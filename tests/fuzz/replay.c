/* SPDX-License-Identifier: MIT */
/*
 * replay.c - play a fuzz target's kept inputs once, without a fuzzer.
 *
 * libFuzzer needs clang; a fault it found must stay mended under gcc, in release and
 * under the sanitizers too.  So every fuzz target is linked a second time with this main,
 * which hands it each file of the folders and files named on the command line, in the
 * order of their names, and the empty input.
 */
#include <dirent.h>
#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static unsigned long played;

static bool play_bytes(const uint8_t *data, size_t size)
{
	played++;
	return LLVMFuzzerTestOneInput(data, size) == 0;
}

static bool play_file(const char *path)
{
	struct stat st;
	FILE *file = fopen(path, "rb");
	uint8_t *data = NULL;
	bool ok = false;

	if (!file || fstat(fileno(file), &st) < 0) {
		fprintf(stderr, "%s: %s\n", path, strerror(errno));
		goto out;
	}
	size_t size = (size_t)st.st_size;
	/* exactly as large as the input, so that AddressSanitizer sees one byte too far */
	data = malloc(size ? size : 1);
	if (!data || fread(data, 1, size, file) != size) {
		fprintf(stderr, "%s: could not be read\n", path);
		goto out;
	}
	ok = play_bytes(data, size);
	if (!ok)
		fprintf(stderr, "%s: the target did not return 0\n", path);
out:
	free(data);
	if (file)
		fclose(file);
	return ok;
}

static bool play(const char *path)
{
	struct dirent **names = NULL;
	struct stat st;
	bool ok = true;

	if (stat(path, &st) < 0) {
		fprintf(stderr, "%s: %s\n", path, strerror(errno));
		return false;
	}
	if (!S_ISDIR(st.st_mode))
		return play_file(path);
	int n = scandir(path, &names, NULL, alphasort);
	if (n < 0) {
		fprintf(stderr, "%s: %s\n", path, strerror(errno));
		return false;
	}
	for (int i = 0; i < n; i++) {
		char inner[4096];
		if (names[i]->d_name[0] != '.') {
			snprintf(inner, sizeof(inner), "%s/%s", path,
			    names[i]->d_name);
			ok = play(inner) && ok;
		}
		free(names[i]);
	}
	free(names);
	return ok;
}

int main(int argc, char **argv)
{
	bool ok = play_bytes((const uint8_t *)"", 0);

	for (int i = 1; i < argc; i++)
		ok = play(argv[i]) && ok;
	printf("%lu inputs played\n", played);
	return ok && played > 1 ? 0 : 1;
}
