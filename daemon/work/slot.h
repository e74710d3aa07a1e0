/* SPDX-License-Identifier: MIT */
/*
 * One job at a time: a place for a child, its pipes and what the database is told of it.
 */
#ifndef WORK_SLOT_H
#define WORK_SLOT_H

#include <stdbool.h>
#include <sys/types.h>

#include <event2/event.h>

#include "child.h"
#include "planning.h"
#include "text.h"
#include "work.h"

enum slot_state {
	SLOT_FREE,
	SLOT_TAKING,  /* asking the database for a job */
	SLOT_RUNNING, /* a child works on it */
	SLOT_ENDING,  /* telling the database how it ended */
};

enum slot_stop { /* why we asked the child to stop */
	STOP_NONE,
	STOP_LIMIT,  /* wall time */
	STOP_CANCEL, /* somebody cancelled the job */
	STOP_DRAIN,  /* we are going */
	STOP_LOST,   /* the job is not ours any more */
};

struct slot {
	struct work *work;
	int number;
	enum slot_state state;
	enum slot_stop stop;
	struct job_row job; /* strings are ours */
	struct child *child;
	struct event *
	    tick; /* once a second: beat, limits; also waits before telling again */
	int seconds;      /* the child's age */
	int stop_seconds; /* since it was asked to stop */
	bool beating;     /* a beat is under way */
	bool dead; /* the child has gone; waiting for a beat to come back */
	struct store_tx *tx;
	char said[512]; /* the last of its talk */
	/* how it ended */
	enum job_state end;
	char reason[512];
	char code[16];
	int64_t wait_ms; /* until its next attempt */
	int tells;       /* how often we tried to say so */
};

struct work {
	struct event_base *base;
	struct store *store;
	struct work_config config;
	char *program, *name;
	struct slot *slots;
	struct event *poll;
	bool looking;    /* a slot is taking */
	bool look_again; /* something was announced meanwhile */
	bool draining;
	work_done_fn *drained;
	void *drained_ctx;
};

void slot_init(struct slot *slot, struct work *work, int number);
void slot_take(struct slot *slot);
void slot_drain(struct slot *slot);
void slot_free(struct slot *slot);
/* From slot.c: the slot is free again, or has a job (then another may look). */
void work_look(struct work *work);
void work_look_after(struct work *work, int64_t ms);
void work_slot_changed(struct work *work);

#endif
