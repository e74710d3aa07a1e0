/* SPDX-License-Identifier: MIT */
/*
 * Small pictures for the web pages, as SVG that may stand inside HTML: no script, no style
 * (attributes only, so a strict policy lets it pass), no outside reference, all text escaped.
 * Colour tells nothing: pieces carry their pencil code, kept and waste paper are hatched
 * differently.  Ids in the SVG begin with `id`, so that several may stand on one page.
 *
 * Pure: needs no font, may run in any thread.
 */
#ifndef PRINT_PICTURE_H
#define PRINT_PICTURE_H

#include <stddef.h>

#include "measure.h"
#include "sheet.h"
#include "text.h"

/*
 * Roll `roll` (index into the paper's plan->rolls) of paper `paper` to scale, strips running down the page as on the table (the
 * free end at the bottom, the left edge at the left), 360 units wide, as high as it needs.
 * only_member: others' pieces are drawn without their code (SIZE_MAX: all are shown).
 */
void plan_picture_svg(const struct sheet *sheet, size_t paper, size_t roll,
    size_t only_member, const char *id, struct text *out);

/* How the straightedge lies and which side of it is pulled, seen from where one stands. */
void pull_picture_svg(
    const struct sheet *sheet, const char *id, struct text *out);

/*
 * One torn sheet to scale with its picture area and the tape margin on each side.  Sizes are
 * as asked for, across x along; finished may be 0 (then only the torn sheet is drawn).
 */
void piece_picture_svg(length across, length along, length finished_across,
    length finished_along, enum measure_system system, const char *id,
    struct text *out);

#endif
