/* SPDX-License-Identifier: MIT */
/*
 * pick.c - who gets what, and where it is found.
 *
 * The steps hand out piece by piece; afterwards somebody stands with an open bag and a
 * name on it, and wants to know how many of which size belong in it.
 */
#include "sheet_model.h"

#include <stdlib.h>

#include "alloc.h"

static struct pick **new_index(struct sheet *sheet)
{
	const struct sheet_input *input = sheet->input;
	struct pick **index = xcalloc(input->n_papers + 1, sizeof(*index));

	for (size_t i = 0; i < input->n_papers; i++) {
		size_t n = input->papers[i].problem->n_pieces;
		index[i] = arena_array(sheet->arena, n, sizeof(**index));
		for (size_t k = 0; k < n; k++) {
			index[i][k].paper = i;
			index[i][k].piece = k;
		}
	}
	return index;
}

/* Visit every piece; the first walk counts (spots is NULL), the second writes the spots. */
static void walk(const struct sheet *sheet, struct pick **index)
{
	for (size_t r = 0; r < sheet->n_rolls; r++) {
		const struct sheet_roll *roll = &sheet->rolls[r];
		for (size_t s = 0; s < roll->roll->n_strips; s++) {
			const struct strip *strip = &roll->roll->strips[s];
			for (size_t i = 0; i < strip->n_segments; i++) {
				const struct segment *segment =
				    &strip->segments[i];
				for (size_t k = 0; k < segment->n_pieces; k++) {
					struct pick *pick =
					    &index[roll->paper]
						  [segment->pieces[k].piece];
					if (pick->spots)
						pick->spots[pick->count] =
						    (struct spot){
							roll->number, s + 1};
					pick->count++;
				}
			}
		}
	}
}

static void give(struct sheet *sheet, size_t member, const struct pick *pick)
{
	struct sheet_hand *hand = &sheet->hands[member];

	hand->picks[hand->n_picks++] = *pick;
	hand->count += pick->count;
}

static void name_hands(struct sheet *sheet)
{
	const struct sheet_input *input = sheet->input;

	sheet->n_hands = input->n_members;
	sheet->hands =
	    arena_array(sheet->arena, sheet->n_hands, sizeof(*sheet->hands));
	for (size_t i = 0; i < sheet->n_hands; i++) {
		char code[SHEET_CODE_MAX];
		const struct sheet_member *member = &input->members[i];
		sheet->hands[i].name =
		    member->name ? sheet_line(sheet->arena, member->name) : "";
		sheet->hands[i].code =
		    member->code ? sheet_line(sheet->arena, member->code)
				 : arena_strdup(sheet->arena,
				       sheet_code(code, i, sheet->n_hands));
	}
}

void sheet_pick(struct sheet *sheet)
{
	const struct sheet_input *input = sheet->input;
	struct pick **index = new_index(sheet);

	name_hands(sheet);
	walk(sheet, index);
	for (size_t i = 0; i < input->n_papers; i++) {
		for (size_t k = 0; k < input->papers[i].problem->n_pieces;
		     k++) {
			struct pick *pick = &index[i][k];
			pick->missing =
			    input->papers[i].problem->pieces[k].count -
			    pick->count;
			pick->spots = arena_array(sheet->arena,
			    (size_t)pick->count + 1, sizeof(*pick->spots));
			pick->count = 0;
			sheet->hands[sheet_owner(sheet, i, k)].n_picks++;
		}
	}
	walk(sheet, index);
	for (size_t i = 0; i < sheet->n_hands; i++) {
		struct sheet_hand *hand = &sheet->hands[i];
		hand->picks = arena_array(
		    sheet->arena, hand->n_picks + 1, sizeof(*hand->picks));
		hand->n_picks = 0;
	}
	for (size_t i = 0; i < input->n_papers; i++) {
		for (size_t k = 0; k < input->papers[i].problem->n_pieces; k++)
			give(sheet, sheet_owner(sheet, i, k), &index[i][k]);
	}
	free(index);
}
