/* SPDX-License-Identifier: MIT */
/*
 * drawer.c - one thread that draws.
 *
 * A long plan takes a good part of a second to draw, too long for the loop on which everybody
 * waits.  A process of its own was considered: it would have to be sent the whole plan again.
 */
#include "drawer.h"

#include <event2/event.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/queue.h>
#include <unistd.h>

#include "alloc.h"
#include "text.h"

struct job {
	TAILQ_ENTRY(job) link;
	struct drawing drawing;
	draw_fn *done;
	void *ctx;
	struct text out;
	size_t pages;
	bool good;
	struct err err;
};

TAILQ_HEAD(job_list, job);

struct drawer {
	int per_studio;
	int fd; /* rung by the thread, heard by the loop */
	struct event *heard;
	pthread_t thread;
	bool has_thread;
	pthread_mutex_t lock;
	pthread_cond_t more;
	bool stop;
	struct job_list waiting, finished;
	struct job *running;
	int64_t last_studio; /* whose turn it was */
};

/* The drawing libraries want one thread at a time in the whole process, whoever's it is. */
static pthread_mutex_t pencil = PTHREAD_MUTEX_INITIALIZER;

/* ---- the thread ---- */

static void draw_form(struct job *job, struct sheet *sheet)
{
	const struct drawing *d = &job->drawing;

	job->good = true;
	switch (d->form) {
	case DRAW_TEXT:
		sheet_text(sheet, &job->out);
		break;
	case DRAW_PDF:
		job->good = sheet_pdf(sheet, &job->out, &job->err);
		break;
	case DRAW_HTML:
		sheet_html_page(sheet, &job->out);
		break;
	case DRAW_JSON:
		sheet_json(sheet, &job->out);
		break;
	case DRAW_LABELS:
		job->good =
		    sheet_labels_pdf(sheet, &d->grid, &job->out, &job->err);
		break;
	case DRAW_SVG:
		job->pages = sheet_pages(sheet);
		if (d->number <= job->pages)
			job->good =
			    sheet_svg(sheet, d->number, &job->out, &job->err);
		else
			job->good = err_set(&job->err, ERR_MISSING,
			    "there is no page %zu: it has %zu", d->number,
			    job->pages);
		break;
	}
	if (job->good && !text_fits(&job->out))
		job->good =
		    err_set(&job->err, ERR_INTERNAL, "a print is too large");
}

static void draw(struct job *job)
{
	struct sheet *sheet = NULL;

	text_init(&job->out, TEAR_SHEET_MAX);
	pthread_mutex_lock(&pencil);
	if (job->drawing.folio != NULL) {
		job->good = folio_pdf(job->drawing.folio, &job->out, &job->err);
	} else {
		sheet = sheet_new(job->drawing.input);
		draw_form(job, sheet);
		sheet_delete(sheet);
	}
	pthread_mutex_unlock(&pencil);
}

/* The oldest of another studio than the last; else the oldest. */
static struct job *take_next(struct drawer *d)
{
	struct job *job = NULL, *next = TAILQ_FIRST(&d->waiting);

	TAILQ_FOREACH(job, &d->waiting, link)
	{
		if (job->drawing.studio_id != d->last_studio) {
			next = job;
			break;
		}
	}
	if (next != NULL) {
		TAILQ_REMOVE(&d->waiting, next, link);
		d->last_studio = next->drawing.studio_id;
	}
	return next;
}

static void ring(const struct drawer *d)
{
	uint64_t one = 1;
	ssize_t n = write(d->fd, &one, sizeof(one));

	(void)n; /* full: it rings already */
}

static void *run(void *ctx)
{
	struct drawer *d = ctx;

	pthread_mutex_lock(&d->lock);
	while (!d->stop) {
		d->running = take_next(d);
		if (d->running == NULL) {
			pthread_cond_wait(&d->more, &d->lock);
			continue;
		}
		pthread_mutex_unlock(&d->lock);
		draw(d->running);
		pthread_mutex_lock(&d->lock);
		TAILQ_INSERT_TAIL(&d->finished, d->running, link);
		d->running = NULL;
		ring(d);
	}
	pthread_mutex_unlock(&d->lock);
	return NULL;
}

/* ---- the loop ---- */

static void tell(struct job *job)
{
	job->done(job->ctx, job->out.data, job->out.len, job->pages,
	    job->good ? NULL : &job->err);
	text_free(&job->out);
	free(job);
}

static void on_heard(evutil_socket_t fd, short what, void *ctx)
{
	struct drawer *d = ctx;
	struct job_list finished = TAILQ_HEAD_INITIALIZER(finished);
	struct job *job = NULL;
	uint64_t count = 0;
	ssize_t n = read(fd, &count, sizeof(count));

	(void)n;
	(void)what;
	pthread_mutex_lock(&d->lock);
	TAILQ_CONCAT(&finished, &d->finished, link);
	pthread_mutex_unlock(&d->lock);
	while ((job = TAILQ_FIRST(&finished)) != NULL) {
		TAILQ_REMOVE(&finished, job, link);
		tell(job);
	}
}

struct drawer *drawer_new(struct event_base *base, int per_studio)
{
	struct drawer *d = xcalloc(1, sizeof(*d));

	d->per_studio = per_studio;
	TAILQ_INIT(&d->waiting);
	TAILQ_INIT(&d->finished);
	pthread_mutex_init(&d->lock, NULL);
	pthread_cond_init(&d->more, NULL);
	d->fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	if (d->fd >= 0)
		d->heard =
		    event_new(base, d->fd, EV_READ | EV_PERSIST, on_heard, d);
	if (d->heard != NULL)
		event_add(d->heard, NULL);
	return d;
}

static void end_job(struct job *job)
{
	job->good = err_set(&job->err, ERR_BUSY, "the server is stopping");
	tell(job);
}

void drawer_delete(struct drawer *d)
{
	struct job *job = NULL;

	if (d == NULL)
		return;
	pthread_mutex_lock(&d->lock);
	d->stop = true;
	pthread_cond_signal(&d->more);
	pthread_mutex_unlock(&d->lock);
	if (d->has_thread)
		pthread_join(d->thread, NULL);
	TAILQ_CONCAT(&d->waiting, &d->finished, link);
	while ((job = TAILQ_FIRST(&d->waiting)) != NULL) {
		TAILQ_REMOVE(&d->waiting, job, link);
		end_job(job);
	}
	if (d->heard != NULL)
		event_free(d->heard);
	if (d->fd >= 0)
		close(d->fd);
	pthread_cond_destroy(&d->more);
	pthread_mutex_destroy(&d->lock);
	free(d);
}

/* Signals are for the loop: the thread takes none. */
static bool start_thread(struct drawer *d)
{
	sigset_t all, before;
	bool ok = false;

	sigfillset(&all);
	pthread_sigmask(SIG_SETMASK, &all, &before);
	ok = pthread_create(&d->thread, NULL, run, d) == 0;
	pthread_sigmask(SIG_SETMASK, &before, NULL);
	return ok;
}

static int count_studio(const struct drawer *d, int64_t studio_id)
{
	const struct job *job = NULL;
	int n =
	    d->running != NULL && d->running->drawing.studio_id == studio_id;

	TAILQ_FOREACH(job, &d->waiting, link)
	n += job->drawing.studio_id == studio_id;
	TAILQ_FOREACH(job, &d->finished, link)
	n += job->drawing.studio_id == studio_id;
	return n;
}

bool drawer_add(
    struct drawer *d, const struct drawing *drawing, draw_fn *done, void *ctx)
{
	struct job *job = NULL;
	bool fits = false;

	pthread_mutex_lock(&d->lock);
	if (d->heard != NULL && !d->has_thread)
		d->has_thread = start_thread(d);
	fits = d->has_thread &&
	       count_studio(d, drawing->studio_id) < d->per_studio;
	if (fits) {
		job = xcalloc(1, sizeof(*job));
		job->drawing = *drawing;
		job->done = done;
		job->ctx = ctx;
		TAILQ_INSERT_TAIL(&d->waiting, job, link);
		pthread_cond_signal(&d->more);
	}
	pthread_mutex_unlock(&d->lock);
	return fits;
}
