/* SPDX-License-Identifier: MIT */
/*
 * folio.c - a paper is written down block by block.
 */
#include "folio.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define FOLIO_ARENA_MAX ((size_t)1 << 31)

static const char *keep(struct folio *f, const char *s)
{
	return s == NULL ? NULL : arena_strdup(f->arena, s);
}

struct folio *folio_new(const struct folio_about *about)
{
	struct folio *f = xcalloc(1, sizeof(*f));

	f->arena = arena_new(FOLIO_ARENA_MAX);
	f->about = (struct folio_about){
	    .title = keep(f, about->title),
	    .number = keep(f, about->number),
	    .studio = keep(f, about->studio),
	    .workshop = keep(f, about->workshop),
	    .person = keep(f, about->person),
	    .made = keep(f, about->made),
	    .language = keep(f, about->language),
	    .page = about->page,
	};
	return f;
}

void folio_delete(struct folio *f)
{
	if (f == NULL)
		return;
	arena_delete(f->arena);
	free(f);
}

/* One more place at the end of a list in the arena, whose old places stay until its end. */
static void *grown(
    struct folio *f, void *list, size_t n, size_t *room, size_t size)
{
	void *larger = NULL;

	if (n < *room)
		return list;
	*room = *room > 0 ? 2 * *room : 8;
	larger = arena_array(f->arena, *room, size);
	if (n > 0)
		memcpy(larger, list, n * size);
	return larger;
}

static struct folio_block *add(
    struct folio *f, enum folio_kind kind, const char *text)
{
	struct folio_block *block = NULL;

	f->blocks = grown(
	    f, f->blocks, f->n_blocks, &f->blocks_room, sizeof(*f->blocks));
	block = &f->blocks[f->n_blocks++];
	*block = (struct folio_block){.kind = kind, .text = keep(f, text)};
	return block;
}

void folio_heading(struct folio *f, const char *s)
{
	add(f, FOLIO_HEADING, s);
}

void folio_text(struct folio *f, const char *s)
{
	add(f, FOLIO_TEXT, s);
}

void folio_qr(struct folio *f, const char *caption, const char *words)
{
	add(f, FOLIO_QR, words)->caption = keep(f, caption);
}

void folio_fact(
    struct folio *f, const char *name, const char *value, bool strong)
{
	struct folio_block *b =
	    f->n_blocks > 0 ? &f->blocks[f->n_blocks - 1] : NULL;

	if (b == NULL || b->kind != FOLIO_FACTS)
		b = add(f, FOLIO_FACTS, NULL);
	b->facts =
	    grown(f, b->facts, b->n_facts, &b->facts_room, sizeof(*b->facts));
	b->facts[b->n_facts++] =
	    (struct folio_fact){keep(f, name), keep(f, value), strong};
}

void folio_table(
    struct folio *f, const char *name, const struct folio_column *columns)
{
	struct folio_block *b = add(f, FOLIO_TABLE, name);

	while (b->n_columns < FOLIO_COLUMNS_MAX && columns[b->n_columns].name)
		b->n_columns++;
	b->columns =
	    arena_array(f->arena, b->n_columns + 1, sizeof(*b->columns));
	for (size_t i = 0; i < b->n_columns; i++)
		b->columns[i] = (struct folio_column){
		    keep(f, columns[i].name), columns[i].number};
}

void folio_row(struct folio *f, bool total, const char *const cells[])
{
	struct folio_block *b = &f->blocks[f->n_blocks - 1];
	struct folio_row row = {.total = total};

	b->rows = grown(f, b->rows, b->n_rows, &b->rows_room, sizeof(*b->rows));
	row.cells = arena_array(f->arena, b->n_columns + 1, sizeof(*row.cells));
	for (size_t i = 0; i < b->n_columns; i++)
		row.cells[i] = keep(f, cells[i] ? cells[i] : "");
	b->rows[b->n_rows++] = row;
}
