/* SPDX-License-Identifier: MIT */
/*
 * options.c - the table, and the readers of command line and file.
 *
 * A value is text until here and a number, word or list from here on; nobody else parses
 * an option.  A file with an unknown name is refused: a misspelt limit that is silently
 * not there is found out on the wrong day.
 */
#include "options.h"

#include <errno.h>
#include <limits.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "alloc.h"

enum kind {
	TEXT,
	WHOLE,
	YES_NO,
	LIST,
	LEVEL,
};

struct option {
	const char *name, *unit, *fallback, *help;
	enum kind kind;
	size_t at; /* in struct options */
	int64_t min, max;
};

#define AT(field) offsetof(struct options, field)

/* clang-format off */
static const struct option options[] = {
	{ "listen", "ADDRESS", "127.0.0.1:8443",
	  "address and port, unix:PATH, or none to plan only", TEXT, AT(listen), 0, 0 },
	{ "certificate", "FILE", "",
	  "certificate chain (PEM); without it only this machine is served", TEXT, AT(certificate), 0, 0 },
	{ "private-key", "FILE", "",
	  "key of the certificate (PEM, without passphrase)", TEXT, AT(private_key), 0, 0 },
	{ "names", "NAMES", "",
	  "host names that are ours; empty: any", LIST, AT(names), 0, 0 },
	{ "origin", "URL", "",
	  "what browsers call us, as https://studio.example:8443; empty: as they ask", TEXT, AT(origin), 0, 0 },
	{ "trusted-proxies", "ADDRESSES", "",
	  "whose X-Forwarded-For is believed (\"unix\": whoever comes by a socket)", LIST, AT(trusted_proxies), 0, 0 },
	{ "tls-at-proxy", "yes|no", "no",
	  "a proxy before us speaks TLS with the browsers", YES_NO, AT(tls_at_proxy), 0, 0 },
	{ "data", "FOLDER", "/var/lib/tearshared",
	  "private PostgreSQL and the owner's key", TEXT, AT(data), 0, 0 },
	{ "database", "CONNINFO", "",
	  "PostgreSQL, as the role that owns nothing; empty: a private one in data", TEXT, AT(database), 0, 0 },
	{ "owner-database", "CONNINFO", "",
	  "the same as the role that owns the schema; empty: others migrate", TEXT, AT(owner_database), 0, 0 },
	{ "studio", "NAME", "Studio",
	  "name of the studio that is made at the first start", TEXT, AT(studio), 0, 0 },
	{ "db-connections", "COUNT", "8",
	  "connections to the database, for each loop", WHOLE, AT(db_connections), 1, 200 },
	{ "db-queue", "COUNT", "1000",
	  "transactions that may wait for a connection, for each loop", WHOLE, AT(db_queue), 1, 100000 },
	{ "db-statement-ms", "MILLISECONDS", "10000",
	  "limit on one statement", WHOLE, AT(db_statement_ms), 10, 600000 },
	{ "db-wait-ms", "MILLISECONDS", "5000",
	  "limit on waiting for a connection", WHOLE, AT(db_wait_ms), 10, 600000 },
	{ "loops", "COUNT", "1",
	  "event loops, each a thread", WHOLE, AT(loops), 1, 64 },
	{ "workers", "COUNT", "1",
	  "planner processes at once; 0: plan elsewhere", WHOLE, AT(workers), 0, 64 },
	{ "plan-seconds", "SECONDS", "60",
	  "time for one plan; the best so far is taken then", WHOLE, AT(plan_seconds), 1, 86400 },
	{ "plan-memory", "MIB", "1024",
	  "memory for one planner process", WHOLE, AT(plan_memory), 64, 1048576 },
	{ "plans-running", "COUNT", "1",
	  "plans under way, for each studio", WHOLE, AT(plans_running), 1, 100 },
	{ "plans-waiting", "COUNT", "3",
	  "plans that may wait, for each studio", WHOLE, AT(plans_waiting), 0, 100 },
	{ "body-max", "BYTES", "65536",
	  "largest body of a request", WHOLE, AT(body_max), 1024, 67108864 },
	{ "connections-max", "COUNT", "0",
	  "connections, for each loop; 0: what the limit of descriptors leaves", WHOLE, AT(connections_max), 0, 1000000 },
	{ "per-address-max", "COUNT", "256",
	  "connections of one address; this machine and proxies are exempt", WHOLE, AT(per_address_max), 1, 1000000 },
	{ "failures-a-minute", "COUNT", "60",
	  "wrong keys and codes of one address", WHOLE, AT(failures_a_minute), 1, 100000 },
	{ "head-seconds", "SECONDS", "10",
	  "until the head of a request is here, TLS included", WHOLE, AT(head_seconds), 1, 3600 },
	{ "body-seconds", "SECONDS", "20",
	  "until its body is here", WHOLE, AT(body_seconds), 1, 3600 },
	{ "idle-seconds", "SECONDS", "60",
	  "until the next request begins", WHOLE, AT(idle_seconds), 1, 3600 },
	{ "log", "FILE", "",
	  "empty: standard error with -d, else DATA/tearshared.log", TEXT, AT(log), 0, 0 },
	{ "log-level", "LEVEL", "info",
	  "debug, info, warn or error", LEVEL, AT(log_level), 0, 0 },
	{ "pidfile", "FILE", "",
	  "holds our process number while we run", TEXT, AT(pidfile), 0, 0 },
};
static const char *const levels[] = {
	[LOG_DEBUG] = "debug", [LOG_INFO] = "info", [LOG_WARN] = "warn", [LOG_ERROR] = "error",
};
/* clang-format on */

#define N_OPTIONS (sizeof(options) / sizeof(*options))
#define LINE_SIZE 4096

static const struct option *find(const char *name, size_t len)
{
	for (size_t i = 0; i < N_OPTIONS; i++)
		if (strlen(options[i].name) == len &&
		    !memcmp(options[i].name, name, len))
			return &options[i];
	return NULL;
}

/* --- values ------------------------------------------------------------------------- */

static bool set_whole(
    const struct option *def, int64_t *to, const char *value, struct err *err)
{
	char *end;
	long long n;

	errno = 0;
	n = strtoll(value, &end, 10);
	if (end == value || *end || errno || n < def->min || n > def->max) {
		err_set(err, ERR_INPUT, "%s is \"%s\"", def->name, value);
		return err_hint(err, "It is a whole number from %lld to %lld.",
		    (long long)def->min, (long long)def->max);
	}
	*to = n;
	return true;
}

static bool set_yes_no(
    const struct option *def, bool *to, const char *value, struct err *err)
{
	*to = !strcmp(value, "yes");
	if (*to || !strcmp(value, "no"))
		return true;
	err_set(err, ERR_INPUT, "%s is \"%s\"", def->name, value);
	return err_hint(err, "It is yes or no.");
}

static bool set_level(const struct option *def, enum log_level *to,
    const char *value, struct err *err)
{
	for (size_t i = 0; i < sizeof(levels) / sizeof(*levels); i++) {
		if (!strcmp(levels[i], value)) {
			*to = (enum log_level)i;
			return true;
		}
	}
	err_set(err, ERR_INPUT, "%s is \"%s\"", def->name, value);
	return err_hint(err, "It is debug, info, warn or error.");
}

static void free_list(struct list *list)
{
	free(list->text);
	free(list->words);
	*list = (struct list){.text = NULL};
}

static bool set_list(const struct option *def, struct list *to,
    const char *value, struct err *err)
{
	size_t n = 0;
	char *rest;

	free_list(to);
	to->text = xstrdup(value);
	to->words = xcalloc(LIST_MAX + 1, sizeof(*to->words));
	for (char *word = strtok_r(to->text, ", \t", &rest); word;
	     word = strtok_r(NULL, ", \t", &rest)) {
		if (n == LIST_MAX)
			return err_set(err, ERR_INPUT,
			    "%s has more than %d entries", def->name, LIST_MAX);
		to->words[n++] = word;
	}
	if (!n)
		free_list(to);
	return true;
}

static bool set(struct options *o, const struct option *def, const char *value,
    struct err *err)
{
	void *to = (char *)o + def->at;

	switch (def->kind) {
	case WHOLE:
		return set_whole(def, to, value, err);
	case YES_NO:
		return set_yes_no(def, to, value, err);
	case LEVEL:
		return set_level(def, to, value, err);
	case LIST:
		return set_list(def, to, value, err);
	case TEXT:
		break;
	}
	free(*(char **)to);
	*(char **)to = xstrdup(value);
	return true;
}

void options_init(struct options *o)
{
	struct err err;

	*o = (struct options){.listen = NULL};
	for (size_t i = 0; i < N_OPTIONS; i++)
		if (!set(o, &options[i], options[i].fallback, &err))
			abort(); /* a default breaks its own rule */
}

void options_free(struct options *o)
{
	for (size_t i = 0; i < N_OPTIONS; i++) {
		void *at = (char *)o + options[i].at;

		if (options[i].kind == TEXT)
			free(*(char **)at);
		else if (options[i].kind == LIST)
			free_list(at);
	}
	*o = (struct options){.listen = NULL};
}

/* Does the value hold a password? */
static bool holds_secret(const struct option *def, const char *value)
{
	return (def->at == AT(database) || def->at == AT(owner_database)) &&
	       (strcasestr(value, "password") ||
		   (strstr(value, "://") && strchr(value, '@')));
}

/* --- the file ----------------------------------------------------------------------- */

struct reader {
	struct options *o;
	const bool *on_line; /* options of the command line, which go first */
	bool seen[N_OPTIONS];
	const char *path;
	int line;
};

static char *trim(char *s)
{
	size_t len;

	s += strspn(s, " \t");
	len = strlen(s);
	while (len && strchr(" \t\r\n", s[len - 1]))
		len--;
	s[len] = '\0';
	return s;
}

/* Say where: "FILE:LINE: what". */
static bool at_line(const struct reader *r, struct err *err)
{
	char what[sizeof(err->text)], hint[sizeof(err->hint)];

	memcpy(what, err->text, sizeof(what));
	memcpy(hint, err->hint, sizeof(hint));
	err_set(err, ERR_INPUT, "%s:%d: %s", r->path, r->line, what);
	return *hint ? err_hint(err, "%s", hint) : false;
}

static bool read_line(struct reader *r, char *line, struct err *err)
{
	char *equals = strchr(line, '='), *name, *value;
	const struct option *def;

	line = trim(line);
	if (!*line || *line == '#')
		return true;
	if (!equals) {
		err_set(err, ERR_INPUT, "\"%.80s\" is no option", line);
		err_hint(err, "Write NAME = VALUE.");
		return at_line(r, err);
	}
	*equals = '\0';
	name = trim(line);
	value = trim(equals + 1);
	def = find(name, strlen(name));
	if (!def) {
		err_set(err, ERR_INPUT, "there is no option \"%.80s\"", name);
		err_hint(err, "tearshared --help lists them.");
		return at_line(r, err);
	}
	if (r->seen[def - options]) {
		err_set(err, ERR_INPUT, "%s is there twice", def->name);
		return at_line(r, err);
	}
	r->seen[def - options] = true;
	if (r->on_line[def - options])
		return true;
	return set(r->o, def, value, err) || at_line(r, err);
}

/* A password in a file that everybody may read is no secret. */
static bool check_mode(const struct reader *r, FILE *f, struct err *err)
{
	struct stat st;

	if (fstat(fileno(f), &st) < 0 || !(st.st_mode & S_IROTH))
		return true;
	for (size_t i = 0; i < N_OPTIONS; i++) {
		const void *at = (const char *)r->o + options[i].at;

		if (options[i].kind != TEXT ||
		    !holds_secret(&options[i], *(char *const *)at))
			continue;
		err_set(err, ERR_INPUT,
		    "%s holds a password and can be read by everybody",
		    r->path);
		return err_hint(err, "Run: chmod 600 \"%s\"", r->path);
	}
	return true;
}

static bool read_file(struct reader *r, struct err *err)
{
	FILE *f = fopen(r->path, "r");
	char line[LINE_SIZE];
	bool ok = true;

	if (!f) {
		err_set(err, ERR_INPUT,
		    "configuration \"%s\" cannot be read: %s", r->path,
		    strerror(errno));
		return err_hint(err, "tearshared --sample-config prints one.");
	}
	while (ok && fgets(line, sizeof(line), f)) {
		r->line++;
		if (strlen(line) == sizeof(line) - 1) {
			err_set(err, ERR_INPUT, "the line is too long");
			ok = at_line(r, err);
			break;
		}
		ok = read_line(r, line, err);
	}
	if (ok && ferror(f))
		ok = err_set(err, ERR_INPUT,
		    "configuration \"%s\" cannot be read: %s", r->path,
		    strerror(errno));
	ok = ok && check_mode(r, f, err);
	fclose(f);
	return ok;
}

/* --- the command line --------------------------------------------------------------- */

static bool wrong_line(struct err *err, const char *what, const char *word)
{
	err_set(err, ERR_UNKNOWN, "%s %s", word, what);
	return err_hint(err, "tearshared --help lists the options.");
}

/* Words that are no options of the table; 0 when it is none of them either. */
static int read_switch(struct call *call, char **argv, int i, int argc)
{
	const struct {
		const char *brief, *name;
		bool *to;
	} switches[] = {
	    {"-d", "--foreground", &call->foreground},
	    {"-n", "--check-config", &call->check_only},
	    {"-h", "--help", &call->help},
	    {"-V", "--version", &call->version},
	    {"", "--sample-config", &call->sample},
	};

	for (size_t k = 0; k < sizeof(switches) / sizeof(*switches); k++) {
		if (!strcmp(argv[i], switches[k].name) ||
		    !strcmp(argv[i], switches[k].brief)) {
			*switches[k].to = true;
			return 1;
		}
	}
	if (!strncmp(argv[i], "--config=", 9)) {
		call->config = argv[i] + 9;
		return 1;
	}
	if ((!strcmp(argv[i], "-c") || !strcmp(argv[i], "--config")) &&
	    i + 1 < argc) {
		call->config = argv[i + 1];
		return 2;
	}
	return 0;
}

static int read_option(struct options *o, bool *on_line, char **argv, int i,
    int argc, struct err *err)
{
	const char *name = argv[i] + 2, *value;
	size_t len = strcspn(name, "=");
	const struct option *def =
	    strncmp(argv[i], "--", 2) ? NULL : find(name, len);
	int used = 1;

	if (!def)
		return wrong_line(err, "is no option", argv[i]);
	if (name[len]) {
		value = name + len + 1;
	} else if (i + 1 < argc) {
		value = argv[i + 1];
		used = 2;
	} else {
		return wrong_line(err, "needs a value", argv[i]);
	}
	if (holds_secret(def, value)) {
		err_set(err, ERR_UNKNOWN,
		    "%s holds a password, and everybody can read a command "
		    "line",
		    def->name);
		return err_hint(
		    err, "Put it into the configuration file, mode 0600.");
	}
	on_line[def - options] = true;
	if (set(o, def, value, err))
		return used;
	err->kind = ERR_UNKNOWN;
	return 0;
}

bool options_read(struct options *o, int argc, char **argv, struct call *call,
    struct err *err)
{
	bool on_line[N_OPTIONS] = {false};
	struct reader r = {.o = o, .on_line = on_line};
	int i = 1, used;

	*call = (struct call){.config = NULL};
	while (i < argc && argv[i][0] == '-' && argv[i][1]) {
		used = read_switch(call, argv, i, argc);
		if (!used)
			used = read_option(o, on_line, argv, i, argc, err);
		if (!used)
			return false;
		i += used;
	}
	call->first_rest = i;
	call->n_rest = argc - i;
	if (!call->config)
		return true;
	r.path = call->config;
	return read_file(&r, err);
}

/* --- what is drawn from the table ---------------------------------------------------- */

void options_print_help(FILE *out)
{
	fputs("usage: tearshared [-dn] [-c FILE] [--OPTION VALUE ...]\n"
	      "       tearshared plan [--progress] [--sheet] [--proof FILE] "
	      "FILE|-\n"
	      "       tearshared [-c FILE] studio NAME | owner-key [STUDIO] | "
	      "check\n"
	      "\n"
	      "  -d, --foreground      stay in the foreground, log to standard "
	      "error\n"
	      "  -n, --check-config    check the configuration and start "
	      "nothing\n"
	      "  -c, --config FILE     read options from FILE\n"
	      "  -h, --help            this text\n"
	      "  -V, --version         version\n"
	      "      --sample-config   a configuration file with every option\n"
	      "\n",
	    out);
	for (size_t i = 0; i < N_OPTIONS; i++) {
		const struct option *def = &options[i];

		fprintf(out, "  --%s %s\n      %s", def->name, def->unit,
		    def->help);
		if (*def->fallback)
			fprintf(out, " (%s)", def->fallback);
		fputc('\n', out);
	}
}

void options_print_sample(FILE *out)
{
	fputs("# Configuration of tearshared: NAME = VALUE, one a line.  What "
	      "stands\n"
	      "# here behind # is the default.\n",
	    out);
	for (size_t i = 0; i < N_OPTIONS; i++)
		fprintf(out, "\n# %s: %s\n#%s =%s%s\n", options[i].unit,
		    options[i].help, options[i].name,
		    *options[i].fallback ? " " : "", options[i].fallback);
}
