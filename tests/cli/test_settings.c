/* SPDX-License-Identifier: MIT */
/*
 * Settings and the key file: what is kept, and what is refused.
 */
#include <criterion/criterion.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "find.h"
#include "settings.h"
#include "status.h"

static char folder[100];
static const char good_key[] =
    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";

static void make_folder(void)
{
	strcpy(folder, "/tmp/tearshare-test-XXXXXX");
	cr_assert(mkdtemp(folder));
	setenv("XDG_CONFIG_HOME", folder, 1);
}

static void remove_folder(void)
{
	char path[200];
	static const char *const names[] = {"tearshare/key",
	    "tearshare/settings", "tearshare/anna/key",
	    "tearshare/anna/settings", "tearshare/anna", "tearshare", ""};
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++) {
		snprintf(path, sizeof(path), "%s/%s", folder, names[i]);
		remove(path);
	}
}

static void write_file(const char *name, const char *text, mode_t mode)
{
	char path[200];
	snprintf(path, sizeof(path), "%s/tearshare", folder);
	mkdir(path, 0700);
	snprintf(path, sizeof(path), "%s/tearshare/%s", folder, name);
	FILE *f = fopen(path, "w");
	fputs(text, f);
	fclose(f);
	chmod(path, mode);
}

TestSuite(settings, .init = make_folder, .fini = remove_folder);

Test(settings, are_kept_between_two_commands)
{
	struct settings s, back;
	struct err err;
	cr_assert(settings_load(NULL, &s, &err), "%s", err.text);
	cr_expect_null(s.server);
	cr_assert(
	    settings_server("https://studio.example:8443/", &s.server, &err));
	s.ca = strdup("/some where/ca.pem");
	s.workshop = 17;
	cr_assert(settings_save(&s, &err), "%s", err.text);
	cr_assert(settings_load(NULL, &back, &err), "%s", err.text);
	cr_expect_str_eq(back.server, "https://studio.example:8443");
	cr_expect_str_eq(back.ca, "/some where/ca.pem");
	cr_expect_eq(back.workshop, 17);
	settings_free(&s);
	settings_free(&back);
}

Test(settings, of_a_profile_are_apart)
{
	struct settings s, other;
	struct err err;
	cr_assert(settings_load("anna", &s, &err));
	cr_assert(key_save(&s, NULL, good_key, &err), "%s", err.text);
	char *key = NULL;
	cr_assert(key_load(&s, NULL, &key, &err));
	cr_expect_str_eq(key, good_key);
	free(key);
	cr_assert(settings_load(NULL, &other, &err));
	cr_assert(key_load(&other, NULL, &key, &err));
	cr_expect_null(key);
	settings_free(&s);
	settings_free(&other);
}

Test(settings, refuse_names_that_would_leave_the_folder)
{
	static const char *const names[] = {
	    "", ".", "..", "../x", "a/b", "-x", "key", "settings", "a b"};
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++) {
		struct settings s;
		struct err err;
		cr_expect_not(
		    settings_load(names[i], &s, &err), "%s", names[i]);
		cr_expect_eq(status_exit(&err), 64);
	}
}

Test(settings, with_a_name_nobody_knows_are_refused_with_the_line)
{
	struct settings s;
	struct err err;
	write_file("settings",
	    "# a remark\n\nserver https://a.example\ncaa /x\n", 0600);
	cr_expect_not(settings_load(NULL, &s, &err));
	cr_expect(strstr(err.text, "line 4"), "%s", err.text);
	cr_expect(strstr(err.text, "\"caa\""), "%s", err.text);
	cr_expect_eq(status_exit(&err), 78);
}

Test(settings, refuse_a_key_file_that_others_can_read)
{
	static const mode_t open_modes[] = {0644, 0640, 0604, 0660, 0620, 0601};
	char text[64];
	struct settings s;
	snprintf(text, sizeof(text), "%s\n", good_key);
	struct err err;
	cr_assert(settings_load(NULL, &s, &err));
	for (size_t i = 0; i < sizeof(open_modes) / sizeof(*open_modes); i++) {
		char *key = NULL;
		write_file("key", text, open_modes[i]);
		cr_expect_not(
		    key_load(&s, NULL, &key, &err), "%04o", open_modes[i]);
		cr_expect_null(key);
		cr_expect(strstr(err.hint, "chmod 600 '"), "%s", err.hint);
		cr_expect_eq(status_exit(&err), 78);
		cr_expect_null(strstr(err.text, "tsk_"));
	}
	char *key = NULL;
	write_file("key", text, 0400);
	cr_expect(key_load(&s, NULL, &key, &err), "%s", err.text);
	free(key);
	settings_free(&s);
}

Test(settings, refuse_what_is_not_a_key_without_showing_it)
{
	static const char *const texts[] = {"", "secret\n", "tsk_short\n",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA\n",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA A\n",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA\xC3\xA9\n"};
	struct settings s;
	struct err err;
	cr_assert(settings_load(NULL, &s, &err));
	for (size_t i = 0; i < sizeof(texts) / sizeof(*texts); i++) {
		char *key = NULL;
		write_file("key", texts[i], 0600);
		cr_expect_not(key_load(&s, NULL, &key, &err), "%s", texts[i]);
		cr_expect_null(strstr(err.text, "secret"));
		cr_expect_null(strstr(err.text, "AAAA"));
	}
	settings_free(&s);
}

Test(settings, write_the_key_for_the_owner_alone)
{
	struct settings s;
	struct err err;
	struct stat st;
	char path[200];
	umask(0);
	cr_assert(settings_load(NULL, &s, &err));
	cr_assert(key_can_save(&s, NULL, &err), "%s", err.text);
	cr_assert(key_save(&s, NULL, good_key, &err));
	snprintf(path, sizeof(path), "%s/tearshare/key", folder);
	cr_assert_eq(stat(path, &st), 0);
	cr_expect_eq(st.st_mode & 07777, 0600, "%04o", st.st_mode & 07777);
	cr_assert(key_forget(&s, &err));
	cr_expect_neq(stat(path, &st), 0);
	settings_free(&s);
}

static const struct {
	const char *url;
	const char *kept; /* NULL: refused */
} servers[] = {
    {"https://studio.example", "https://studio.example"},
    {"https://studio.example:8443///", "https://studio.example:8443"},
    {"https://[2001:db8::1]:8443", "https://[2001:db8::1]:8443"},
    {"http://127.0.0.1:8080", "http://127.0.0.1:8080"},
    {"http://127.9.9.9", "http://127.9.9.9"},
    {"http://localhost:80", "http://localhost:80"},
    {"http://[::1]:80", "http://[::1]:80"},
    {"http://studio.example", NULL},
    {"http://128.0.0.1", NULL},
    {"http://127.0.0.1.example", NULL},
    {"http://localhost.example", NULL},
    {"http://127.0.0.1@evil.example", NULL},
    {"http://evil.example/#127.0.0.1", NULL},
    {"https://user@studio.example", NULL},
    {"https://studio.example/path", NULL},
    {"https://studio.example?x", NULL},
    {"https://studio example", NULL},
    {"https://\xC3\xA9.example", NULL},
    {"ftp://studio.example", NULL},
    {"file:///etc/passwd", NULL},
    {"studio.example", NULL},
    {"https://", NULL},
    {"", NULL},
};

Test(settings, take_https_anywhere_and_http_on_this_machine_only)
{
	for (size_t i = 0; i < sizeof(servers) / sizeof(*servers); i++) {
		char *out = NULL;
		struct err err;
		bool ok = settings_server(servers[i].url, &out, &err);
		cr_expect_eq(ok, servers[i].kept != NULL, "%s", servers[i].url);
		if (ok && servers[i].kept)
			cr_expect_str_eq(out, servers[i].kept);
		else if (!ok)
			cr_expect(err.hint[0], "%s", servers[i].url);
		free(out);
	}
}

static const struct {
	const char *name, *typed;
	int64_t id; /* 0: refused */
	const char *says;
} names[] = {
    {"the whole name", "Ann", 3, ""},
    {"another case", "ann", 3, ""},
    {"the only beginning", "anna", 4, ""},
    {"the only part", "rio", 7, ""},
    {"several beginnings", "An", 0, "several"},
    {"nobody", "Zoe", 0, "there is no member"},
    {"nothing", "", 0, "there is no member"},
};

Test(find, takes_a_name_only_when_one_member_can_be_meant)
{
	json_t *items = json_loads(
	    "[{\"id\":3,\"name\":\"Ann\"},{\"id\":4,\"name\":\"Anna B\"},"
	    "{\"id\":7,\"name\":\"Mario\"},{\"name\":5},7]",
	    0, NULL);
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++) {
		struct err err = {.kind = ERR_NONE};
		const json_t *one =
		    find_by_name(items, names[i].typed, "member", &err);
		cr_expect_eq(
		    one != NULL, names[i].id != 0, "%s", names[i].name);
		if (one)
			cr_expect_eq(
			    json_integer_value(json_object_get(one, "id")),
			    names[i].id, "%s", names[i].name);
		else
			cr_expect(strstr(err.text, names[i].says), "%s: %s",
			    names[i].name, err.text);
	}
	json_decref(items);
}
