/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What labels say of boxes that somebody sells. */
#include "build.h"

#include <math.h>

/* Pairs of a curve. */
const ebb_figure *ebb_room_build_figures(ebb_room_builder *builder, const ebb_room_field *field,
                                         size_t *n)
{
    ebb_figure *figure = EBB_KEEP(builder, ebb_figure, field->n);
    for (size_t i = 0; i < field->n && figure != NULL; i++)
        figure[i] = (ebb_figure){field->number[2 * i], field->number[2 * i + 1]};
    *n = figure != NULL ? field->n : 0;
    return figure;
}

/* Areas say what they are; coefficients only with `measured`. */
static void build_figures(ebb_room_builder *builder, const ebb_room_record *record,
                          ebb_claim *claim)
{
    static const char *const ways[] = {"figures", "areas", NULL};
    const ebb_room_field *way = ebb_room_one_of(builder, record, ways);
    const ebb_room_field *measured = ebb_room_get(record, "measured");
    claim->kind = EBB_FIGURE_UNSAID;
    if (way == NULL)
        return;
    if (way == ebb_room_get(record, "areas")) {
        claim->kind = EBB_FIGURE_AREA;
        if (measured->good)
            ebb_room_refuse_key(builder, record, "measured",
                                "it goes with figures; an area is an area");
    } else if (measured->good) {
        claim->kind = measured->word == 0 ? EBB_FIGURE_NORMAL : EBB_FIGURE_DIFFUSE;
    }
    if (way->good)
        claim->figure = ebb_room_build_figures(builder, way, &claim->n);
}

static void build_claim(ebb_room_builder *builder, const ebb_room_record *record, ebb_claim *claim)
{
    claim->name = ebb_room_keep_text(builder, record->name);
    if (record->form == NULL)
        return;
    const ebb_room_field *face = ebb_room_get(record, "face");
    const ebb_room_field *fill = ebb_room_get(record, "fill");
    const ebb_room_field *front = ebb_room_get(record, "front");
    for (size_t i = 0; i < 2; i++)
        claim->face[i] = face->good ? face->number[i] : NAN;
    claim->depth = ebb_room_number(record, "depth", NAN);
    claim->mass = ebb_room_number(record, "mass", NAN);
    claim->front_mass = ebb_room_number(record, "front_mass", NAN);
    claim->front = ebb_room_word(record, "front", isnan(claim->front_mass) ? 0 : 1) == 1;
    claim->fill = fill->good ? (ebb_fill_kind)(EBB_FILL_AIR + fill->word) : EBB_FILL_UNSAID;
    claim->line = record->place.line;
    if (front->good && front->word == 0)
        ebb_room_refuse_key(builder, record, "front_mass", "it has no front that moves");
    build_figures(builder, record, claim);
}

void ebb_room_build_claims(ebb_room_builder *builder, const ebb_room_record *record,
                           ebb_library *library)
{
    const ebb_room_field *list = ebb_room_get(record, "claims");
    const size_t n = list->good ? list->n : 0;
    ebb_claim *claim = EBB_KEEP(builder, ebb_claim, n);
    for (size_t i = 0; i < n && claim != NULL; i++)
        build_claim(builder, &list->record[i], &claim[i]);
    library->claim = claim;
    library->n_claims = claim != NULL ? n : 0;
}
