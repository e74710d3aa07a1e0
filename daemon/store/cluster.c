/* SPDX-License-Identifier: MIT */
/*
 * cluster.c - a PostgreSQL of our own, so that a studio need not run one.
 *
 * The folder holds cluster/ (the data), run/ (the socket) and postgres.log.  postgres is
 * started directly, without a script between, so that it is our child: it dies with us
 * (PR_SET_PDEATHSIG, a fast shutdown) and we learn when it dies.  There is no TCP; peers are
 * told by their user on the socket (pg_ident), so there is no password either.
 *
 * postgres refuses to run as root.  Started by root, the child becomes the user postgres
 * before it asks for the death signal, since changing user forgets that.  That user may not
 * be able to walk to the folder (a home directory, a mktemp folder); then it is handed the
 * open folder itself and named by /proc/self/fd, which needs no walk.
 */
#include "cluster.h"

#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <limits.h>
#include <pwd.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <libpq-fe.h>

#include "alloc.h"
#include "bootstrap.h"
#include "cluster_files.h"
#include "log.h"
#include "text.h"

#define SOCKET_FOLDER_MAX 92 /* sun_path less the socket's own name */
#define DATABASE "tearshare"
#define READY_SECONDS 60
#define FOLDER_FD                                                              \
	3 /* the data folder in the child, when it must be handed over */

struct cluster {
	char *data;          /* absolute */
	char *bin;           /* folder of initdb and postgres */
	char *socket;        /* folder */
	bool socket_is_ours; /* made by mktemp: removed at the end */
	bool by_fd;          /* the child cannot walk to data */
	uid_t uid;           /* who postgres runs as; our own when not root */
	gid_t gid;
	char user[64];
	pid_t pid;
	int falls; /* restarts in a row: each waits longer */
	char *owner_conninfo, *daemon_conninfo;
};

static void pause_ms(long ms)
{
	struct timespec t = {ms / 1000, ms % 1000 * 1000000};
	nanosleep(&t, NULL);
}

/* ---- who postgres runs as ---- */

static bool choose_user(struct cluster *c, struct err *err)
{
	struct passwd *own =
	    geteuid() == 0 ? getpwnam("postgres") : getpwuid(geteuid());
	if (!own) {
		err_set(err, ERR_INTERNAL,
		    "cannot find the user that PostgreSQL should run as");
		return err_hint(err, "As root the private database runs as "
				     "user \"postgres\": install PostgreSQL's "
				     "package, which makes it.");
	}
	c->uid = own->pw_uid;
	c->gid = own->pw_gid;
	snprintf(c->user, sizeof(c->user), "%s", own->pw_name);
	return true;
}

/* In a child: stop being root. */
static bool drop_root(const struct cluster *c)
{
	if (geteuid() != 0)
		return true;
	return initgroups(c->user, c->gid) == 0 && setgid(c->gid) == 0 &&
	       setuid(c->uid) == 0;
}

static bool can_walk_to(const struct cluster *c, const char *folder)
{
	if (geteuid() != 0)
		return true;
	pid_t pid = fork();
	if (pid == 0)
		_exit(drop_root(c) && access(folder, X_OK) == 0 ? 0 : 1);
	int status = 1;
	while (pid > 0 && waitpid(pid, &status, 0) < 0 && errno == EINTR)
		;
	return pid > 0 && status == 0;
}

/* ---- children ---- */

/* What a child of ours must not inherit or obey: our files, terminal, folder, language.  parent
 * is from before the fork: it may be gone before the child's first step. */
static bool child_prepare(
    const struct cluster *c, const char *log, pid_t parent)
{
	setsid();
	int folder = c->by_fd ? open(c->data, O_RDONLY | O_DIRECTORY) : -1;
	int out = open(log, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
	int in = open("/dev/null", O_RDONLY | O_CLOEXEC);
	if (out < 0 || in < 0 || fchown(out, c->uid, c->gid) < 0)
		return false;
	if (chdir(c->data) < 0)
		/* cppcheck-suppress resourceLeak ; the child ends */
		return false;
	dup2(in, 0);
	dup2(out, 1);
	dup2(out, 2);
	if (folder >= 0 && folder != FOLDER_FD)
		dup2(folder, FOLDER_FD);
	close_range(folder >= 0 ? FOLDER_FD + 1 : 3, ~0U, 0);
	if (!drop_root(c))
		return false;
	prctl(PR_SET_PDEATHSIG, SIGINT);
	if (getppid() != parent)
		return false;
	sigset_t none;
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	signal(SIGPIPE, SIG_DFL);
	clearenv();
	setenv("LC_ALL", "C.UTF-8", 1);
	setenv("PATH", "/usr/bin:/bin", 1);
	setenv("HOME", c->by_fd ? "/" : c->data, 1);
	setenv("TZ", "UTC", 1);
	return true;
}

/* The name under which the child sees a file of the data folder. */
static char *child_path(const struct cluster *c, const char *name)
{
	char *path = NULL;
	if (c->by_fd) {
		if (asprintf(&path, "/proc/self/fd/%d/%s", FOLDER_FD, name) < 0)
			abort();
		return path;
	}
	return folder_join(c->data, name);
}

static pid_t spawn(const struct cluster *c, const char *program, char **args,
    long wait_ms, struct err *err)
{
	char *log = folder_join(c->data, "postgres.log");
	char *path = folder_join(c->bin, program);
	fflush(NULL);
	pid_t self = getpid(), pid = fork();
	if (pid == 0) {
		bool ready = child_prepare(c, log, self);
		/* The wait comes before every end of the child, or a folder that is gone would be
		 * tried again without a pause. */
		if (wait_ms > 0)
			pause_ms(wait_ms);
		if (!ready)
			_exit(126);
		args[0] = path; /* they look for each other beside it */
		execv(path, args);
		dprintf(2, "could not start %s: %s\n", path, strerror(errno));
		_exit(127);
	}
	if (pid < 0)
		err_set(err, ERR_BUSY, "could not start %s: %s", path,
		    strerror(errno));
	free(log);
	free(path);
	return pid;
}

/* ---- making ---- */

static bool write_settings(
    const struct cluster *c, const char *folder, struct err *err)
{
	static const char settings[] =
	    "\n# Written once, when the cluster was made; change what you "
	    "like.\n"
	    "listen_addresses = ''\n"
	    "unix_socket_permissions = 0700\n"
	    "max_connections = 60\n"
	    "shared_buffers = 64MB\n"
	    "jit = off\n"
	    "log_error_verbosity = terse   # details may hold names\n"
	    "log_min_error_statement = panic\n"
	    "log_timezone = 'UTC'\n"
	    "timezone = 'UTC'\n"
	    "log_line_prefix = '%m [%p] '\n";
	return folder_write(
	    c->uid, c->gid, folder, "postgresql.conf", settings, "a", err);
}

/* Who may come in, and as whom: written at every start, since our user may change. */
static bool write_peers(
    const struct cluster *c, const char *folder, struct err *err)
{
	struct passwd *me = getpwuid(geteuid());
	const char *peers[] = {c->user, me ? me->pw_name : c->user};
	const char *roles[] = {"postgres", ROLE_NAME_OWNER, ROLE_NAME_DAEMON,
	    "tearshare_planner", "tearshare_backup"};
	struct text ident;
	text_init(&ident, 4096);
	size_t n_peers = strcmp(peers[0], peers[1]) == 0 ? 1 : 2;
	for (size_t p = 0; p < n_peers; p++)
		for (size_t r = 0; r < sizeof(roles) / sizeof(roles[0]); r++)
			text_addf(
			    &ident, "own \"%s\" %s\n", peers[p], roles[r]);
	bool ok = folder_write(c->uid, c->gid, folder, "pg_ident.conf",
		      ident.data, "w", err) &&
		  folder_write(c->uid, c->gid, folder, "pg_hba.conf",
		      "local all all peer map=own\n"
		      "local replication tearshare_backup,postgres peer "
		      "map=own\n",
		      "w", err);
	text_free(&ident);
	return ok;
}

/* initdb works beside and the result is renamed, so that a half-made cluster is never used. */
static bool make_cluster(const struct cluster *c, struct err *err)
{
	char *made = folder_join(c->data, "cluster");
	char *draft = folder_join(c->data, "cluster.new");
	char *draft_in_child = child_path(c, "cluster.new");
	bool ok = false;
	if (access(made, F_OK) == 0) {
		ok = true;
		goto out;
	}
	folder_remove(draft);
	if (!folder_make(draft, c->uid, c->gid, err))
		goto out;
	char *args[] = {"initdb", "-D", draft_in_child, "-U", "postgres", "-E",
	    "UTF8", "--locale=C.UTF-8", "-k", "-A", "peer", "-N", NULL};
	pid_t pid = spawn(c, "initdb", args, 0, err);
	if (pid < 0)
		goto out;
	int status = 0;
	while (waitpid(pid, &status, 0) < 0 && errno == EINTR)
		;
	if (status != 0) {
		err_set(err, ERR_INTERNAL,
		    "could not make the private database in %s", c->data);
		err_hint(err,
		    "The reason is at the end of %.120s/postgres.log.",
		    c->data);
		goto out;
	}
	ok = write_settings(c, draft, err);
	if (ok && rename(draft, made) < 0)
		ok = err_set(err, ERR_INTERNAL, "could not rename %s: %s",
		    draft, strerror(errno));
	if (ok)
		log_event(LOG_INFO, "cluster-made", "user=%s", c->user);
out:
	free(made);
	free(draft);
	free(draft_in_child);
	return ok;
}

/* ---- the socket and the ways in ---- */

static bool make_socket_folder(struct cluster *c, struct err *err)
{
	c->socket = folder_join(c->data, "run");
	if (strlen(c->socket) <= SOCKET_FOLDER_MAX && !c->by_fd)
		return folder_make(c->socket, c->uid, c->gid, err);
	free(c->socket);
	c->socket = xstrdup("/tmp/tearshare-XXXXXX");
	if (!mkdtemp(c->socket) || chown(c->socket, c->uid, c->gid) < 0)
		return err_set(err, ERR_INTERNAL,
		    "could not make a folder for the database's socket: %s",
		    strerror(errno));
	c->socket_is_ours = true;
	return true;
}

/* value inside '...' of a conninfo */
static void add_quoted(struct text *out, const char *value)
{
	text_add_char(out, '\'');
	for (; *value; value++) {
		if (*value == '\'' || *value == '\\')
			text_add_char(out, '\\');
		text_add_char(out, *value);
	}
	text_add_char(out, '\'');
}

static char *conninfo(
    const struct cluster *c, const char *user, const char *database)
{
	struct text out;
	text_init(&out, 1024);
	text_add(&out, "host=");
	add_quoted(&out, c->socket);
	text_addf(&out, " port=5432 user=%s dbname=%s", user, database);
	return text_take(&out);
}

/* ---- starting ---- */

static pid_t launch(struct cluster *c, long wait_ms, struct err *err)
{
	char *folder = child_path(c, "cluster");
	struct text sockets;
	text_init(&sockets, 512);
	text_addf(&sockets, "unix_socket_directories=\"%s\"", c->socket);
	char *args[] = {"postgres", "-D", folder, "-c", sockets.data, "-c",
	    "listen_addresses=", "-c", "port=5432", NULL};
	c->pid = spawn(c, "postgres", args, wait_ms, err);
	free(folder);
	text_free(&sockets);
	return c->pid;
}

/* A postmaster that was our predecessor's child may still be shutting down. */
static void wait_for_predecessor(const struct cluster *c)
{
	char *path = folder_join(c->data, "cluster/postmaster.pid");
	for (int i = 0; i < 600 && postmaster_lives(path); i++)
		pause_ms(50);
	postmaster_forget(path);
	free(path);
}

static bool wait_until_ready(struct cluster *c, struct err *err)
{
	char *as_super = conninfo(c, "postgres", "postgres");
	bool ok = false, dead = false;
	for (int i = 0; !ok && !dead && i < READY_SECONDS * 100; i++) {
		int status = 0;
		dead = waitpid(c->pid, &status, WNOHANG) == c->pid;
		ok = !dead && PQping(as_super) == PQPING_OK;
		if (!ok && !dead)
			pause_ms(10);
	}
	free(as_super);
	if (ok)
		return true;
	if (dead)
		c->pid = -1;
	err_set(err, ERR_BUSY, "could not start the private database in %s",
	    c->data);
	return err_hint(
	    err, "The reason is at the end of %.120s/postgres.log.", c->data);
}

static bool super_connect(const struct cluster *c, const char *database,
    PGconn **conn, struct err *err)
{
	char *info = conninfo(c, "postgres", database);
	*conn = PQconnectdb(info);
	free(info);
	if (PQstatus(*conn) == CONNECTION_OK)
		return true;
	return err_set(err, ERR_BUSY,
	    "could not reach the private database: %.300s",
	    PQerrorMessage(*conn));
}

static bool make_database(const struct cluster *c, struct err *err)
{
	PGconn *conn = NULL;
	PGresult *res = NULL;
	bool ok = super_connect(c, "postgres", &conn, err);
	if (!ok)
		goto out;
	res = PQexec(
	    conn, "SELECT 1 FROM pg_database WHERE datname = '" DATABASE "'");
	if (PQntuples(res) == 0) {
		PQclear(res);
		res = PQexec(conn, "CREATE DATABASE " DATABASE);
		ok = PQresultStatus(res) == PGRES_COMMAND_OK ||
		     err_set(err, ERR_INTERNAL,
			 "could not make the database: %.300s",
			 PQerrorMessage(conn));
	}
	PQfinish(conn);
	conn = NULL;
	ok = ok && super_connect(c, DATABASE, &conn, err) &&
	     bootstrap_roles(conn, err);
out:
	PQclear(res);
	PQfinish(conn);
	return ok;
}

static bool prepare(struct cluster *c, const char *data, struct err *err)
{
	if (!choose_user(c, err) || !folder_make(data, c->uid, c->gid, err))
		return false;
	c->data = realpath(data, NULL);
	if (!c->data)
		return err_set(err, ERR_INTERNAL, "cannot resolve %s: %s", data,
		    strerror(errno));
	c->by_fd = !can_walk_to(c, c->data);
	c->bin = postgres_find(c->data, err);
	if (!c->bin || !make_socket_folder(c, err) || !make_cluster(c, err))
		return false;
	c->owner_conninfo = conninfo(c, ROLE_NAME_OWNER, DATABASE);
	c->daemon_conninfo = conninfo(c, ROLE_NAME_DAEMON, DATABASE);
	char *folder = folder_join(c->data, "cluster");
	bool ok = write_peers(c, folder, err);
	free(folder);
	return ok;
}

bool cluster_start(const char *data, struct cluster **out, struct err *err)
{
	struct cluster *c = xcalloc(1, sizeof(*c));
	c->pid = -1;
	bool ok = prepare(c, data, err);
	if (ok) {
		wait_for_predecessor(c);
		ok = launch(c, 0, err) > 0 && wait_until_ready(c, err) &&
		     make_database(c, err);
	}
	if (!ok) {
		cluster_stop(c);
		return false;
	}
	log_event(LOG_INFO, "cluster-started", "pid=%d", (int)c->pid);
	*out = c;
	return true;
}

const char *cluster_owner_conninfo(const struct cluster *c)
{
	return c->owner_conninfo;
}

const char *cluster_daemon_conninfo(const struct cluster *c)
{
	return c->daemon_conninfo;
}

pid_t cluster_pid(const struct cluster *c)
{
	return c->pid;
}

bool cluster_reap(struct cluster *c, pid_t pid)
{
	if (pid <= 0 || pid != c->pid)
		return false;
	log_event(LOG_ERROR, "cluster-died", "pid=%d", (int)pid);
	c->pid = -1;
	return true;
}

/* Does not wait until it is ready: the store connects again by itself.  A postmaster that falls
 * again and again (memory still held by a query of the one before, a full disk) is started
 * later each time; the waiting is done by the child. */
bool cluster_restart(struct cluster *c, struct err *err)
{
	long wait_ms = c->falls * 200L;
	if (c->falls < 25)
		c->falls++;
	if (launch(c, wait_ms, err) < 0)
		return false;
	log_event(LOG_WARN, "cluster-restarted", "pid=%d wait_ms=%ld",
	    (int)c->pid, wait_ms);
	return true;
}

/* Signals, then waits: 5 s for a fast shutdown, 2 s for an immediate one. */
static void end_postmaster(pid_t pid)
{
	static const struct {
		int signal, tries;
	} steps[] = {{SIGINT, 1000}, {SIGQUIT, 400}, {SIGKILL, 400}};
	for (size_t s = 0; s < sizeof(steps) / sizeof(steps[0]); s++) {
		kill(pid, steps[s].signal);
		for (int i = 0; i < steps[s].tries; i++) {
			pid_t got = waitpid(pid, NULL, WNOHANG);
			if (got == pid || (got < 0 && errno == ECHILD))
				return;
			pause_ms(5);
		}
	}
}

void cluster_stop(struct cluster *c)
{
	if (!c)
		return;
	if (c->pid > 0) {
		end_postmaster(c->pid);
		log_event(LOG_INFO, "cluster-stopped", "pid=%d", (int)c->pid);
	}
	if (c->socket_is_ours)
		folder_remove(c->socket);
	free(c->data);
	free(c->bin);
	free(c->socket);
	free(c->owner_conninfo);
	free(c->daemon_conninfo);
	free(c);
}
