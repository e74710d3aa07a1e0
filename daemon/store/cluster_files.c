/* SPDX-License-Identifier: MIT */
/*
 * cluster_files.c - folders and files around a private PostgreSQL.
 *
 * Debian keeps each version in /usr/lib/postgresql/VERSION/bin; elsewhere the programs are
 * on the path.  A cluster is only ever started by the version that made it.
 */
#include "cluster_files.h"

#include <errno.h>
#include <ftw.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "alloc.h"

char *folder_join(const char *folder, const char *name)
{
	size_t len = strlen(folder) + strlen(name) + 2;
	char *path = xmalloc(len);
	snprintf(path, len, "%s/%s", folder, name);
	return path;
}

bool folder_make(const char *path, uid_t uid, gid_t gid, struct err *err)
{
	struct stat st;
	if (mkdir(path, 0700) < 0 && errno != EEXIST)
		return err_set(err, ERR_INPUT, "cannot make folder %s: %s",
		    path, strerror(errno));
	if (stat(path, &st) < 0 || !S_ISDIR(st.st_mode))
		return err_set(err, ERR_INPUT, "%s is not a folder", path);
	if (geteuid() != 0 && st.st_uid != geteuid())
		return err_set(
		    err, ERR_INPUT, "folder %s belongs to another user", path);
	if (geteuid() == 0 && st.st_uid != uid && chown(path, uid, gid) < 0)
		return err_set(err, ERR_INPUT, "cannot give away %s: %s", path,
		    strerror(errno));
	if (chmod(path, 0700) < 0)
		return err_set(err, ERR_INPUT, "cannot protect %s: %s", path,
		    strerror(errno));
	return true;
}

static int remove_one(
    const char *path, const struct stat *st, int kind, struct FTW *ftw)
{
	(void)st;
	(void)kind;
	(void)ftw;
	return remove(path);
}

void folder_remove(const char *path)
{
	nftw(path, remove_one, 16, FTW_DEPTH | FTW_PHYS);
}

bool folder_write(uid_t uid, gid_t gid, const char *folder, const char *name,
    const char *content, const char *mode, struct err *err)
{
	char *path = folder_join(folder, name);
	FILE *file = fopen(path, mode);
	bool ok = file && fputs(content, file) >= 0;
	if (ok && geteuid() == 0)
		ok = fchown(fileno(file), uid, gid) == 0;
	if (file && fclose(file) != 0)
		ok = false;
	if (!ok)
		err_set(err, ERR_INTERNAL, "could not write %s: %s", path,
		    strerror(errno));
	free(path);
	return ok;
}

/* ---- the lock file: its first line is the postmaster's process number ---- */

#define NO_PROCESS "4999999" /* above the largest the kernel gives: 4194304 */

static int lock_owner(const char *path)
{
	FILE *file = fopen(path, "re");
	int pid = 0;
	if (!file)
		return 0;
	if (fscanf(file, "%d", &pid) != 1)
		pid = 0;
	fclose(file);
	return pid;
}

/* "123 (postgres) S ..." */
bool postmaster_lives(const char *path)
{
	char name[64], process[17] = "", state = 'Z';
	int pid = lock_owner(path);
	if (pid <= 1)
		return false;
	snprintf(name, sizeof(name), "/proc/%d/stat", pid);
	FILE *file = fopen(name, "re");
	if (!file)
		return false;
	if (fscanf(file, "%*d (%16[^)]) %c", process, &state) != 2)
		state = 'Z';
	fclose(file);
	return state != 'Z' && state != 'X' && strncmp(process, "post", 4) == 0;
}

/* The other lines stay: by them postgres finds out whether orphans still hold its memory. */
void postmaster_forget(const char *path)
{
	char rest[4096];
	size_t len = 0;
	if (lock_owner(path) <= 0 || postmaster_lives(path))
		return;
	FILE *file = fopen(path, "r+e");
	if (!file)
		return;
	len = fread(rest, 1, sizeof(rest), file);
	char *line = memchr(rest, '\n', len);
	rewind(file);
	if (line && ftruncate(fileno(file), 0) == 0) {
		fputs(NO_PROCESS, file);
		fwrite(line, 1, len - (size_t)(line - rest), file);
	}
	fclose(file);
}

static bool has_programs(const char *bin)
{
	char *initdb = folder_join(bin, "initdb");
	char *postgres = folder_join(bin, "postgres");
	bool yes = access(initdb, X_OK) == 0 && access(postgres, X_OK) == 0;
	free(initdb);
	free(postgres);
	return yes;
}

/* Of the folders in /usr/lib/postgresql the one with the highest number. */
static char *find_newest(void)
{
	glob_t found;
	char *best = NULL;
	long best_version = 0;
	if (glob("/usr/lib/postgresql/*/bin", 0, NULL, &found) == 0)
		for (size_t i = 0; i < found.gl_pathc; i++) {
			long version = strtol(
			    found.gl_pathv[i] + strlen("/usr/lib/postgresql/"),
			    NULL, 10);
			if (version <= best_version ||
			    !has_programs(found.gl_pathv[i]))
				continue;
			free(best);
			best = xstrdup(found.gl_pathv[i]);
			best_version = version;
		}
	globfree(&found);
	return best;
}

static char *find_on_path(void)
{
	const char *path = getenv("PATH");
	char *all = xstrdup(path ? path : "");
	char *rest = all, *found = NULL;
	for (char *bin; !found && (bin = strsep(&rest, ":"));)
		if (*bin == '/' && has_programs(bin))
			found = xstrdup(bin);
	free(all);
	return found;
}

/* The major version that made the cluster, 0 when there is none yet. */
static int made_by(const char *data)
{
	char *path = folder_join(data, "cluster/PG_VERSION");
	FILE *file = fopen(path, "re");
	int version = 0;
	if (file && fscanf(file, "%d", &version) != 1)
		version = 0;
	if (file)
		fclose(file);
	free(path);
	return version;
}

char *postgres_find(const char *data, struct err *err)
{
	int version = made_by(data);
	if (version > 0) {
		char bin[64];
		snprintf(
		    bin, sizeof(bin), "/usr/lib/postgresql/%d/bin", version);
		if (has_programs(bin))
			return xstrdup(bin);
	}
	char *bin = find_on_path();
	if (!bin && version == 0)
		bin = find_newest();
	if (bin)
		return bin;
	if (version > 0)
		err_set(err, ERR_INTERNAL,
		    "cannot find PostgreSQL %d, which made this database",
		    version);
	else
		err_set(err, ERR_INTERNAL, "cannot find PostgreSQL");
	err_hint(err, "Install the package postgresql, or give the conninfo of "
		      "a server.");
	return NULL;
}
