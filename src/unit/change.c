/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What slips in building do: each is built into a copy and computed again.
 *
 * The sizes of the slips are our choice, from what workshops and suppliers scatter by: boards by
 * a tenth of their weight, rubbers and foams by a factor, wool by a factor of two in flow
 * resistivity, carbon by the difference between a good and a poor batch.
 */
#include "private.h"

#define SLIT 5e-4   /* m, what a rim leaves open that was pressed on without care */
#define SETTLED 0.9 /* of the depth of fill */

static const double CHANGE_HZ[EBB_CHANGE_HZ] = {30, 40, 50};

/* ---- single slips; each says whether it found something to change ---------------------------- */

/* The board's density and what is glued on scatter together: one pair of scales weighs both. */
static bool weigh_front(ebb_front *front, double factor)
{
    front->board.density *= factor;
    front->mass *= factor;
    return true;
}

/* A panel's bending stays as it is: boards of one thickness differ in weight. */
static bool weigh_layer(ebb_layer *layer, double factor)
{
    const bool moves = layer->kind == EBB_LAYER_MASS || layer->kind == EBB_LAYER_PANEL ||
                       layer->kind == EBB_LAYER_LUMPED;
    if (moves)
        layer->mass *= factor;
    return moves;
}

/* A stack and a box are weighed in different places, the slip is one. */
static bool weigh(ebb_unit_model *m, double factor)
{
    const bool cabinet = m->assembly.kind == EBB_ASSEMBLY_CABINET;
    return cabinet ? ebb_unit_each_front(m, weigh_front, factor)
                   : ebb_unit_each_layer(m, weigh_layer, factor);
}

/* Rubbers of one name differ by a factor of two in modulus, and a strip is soon pressed too hard.
 */
static bool stiffen_front(ebb_front *front, double factor)
{
    front->mount.stiffness *= factor;
    return front->mount.stiffness > 0;
}

/* The last lumped layer stands on the back: its spring is the cavity, which does not scatter. */
static bool stiffen(ebb_unit_model *m, double factor)
{
    bool any = false;
    for (size_t i = 0; m->layer != NULL && i + 1 < m->assembly.n_layers; i++) {
        any = any || m->layer[i].stiffness > 0;
        m->layer[i].stiffness *= factor;
    }
    return ebb_unit_each_front(m, stiffen_front, factor) || any;
}

/* Suppliers state resistivity within a factor of two, if at all. */
static bool resist_layer(ebb_layer *layer, double factor)
{
    layer->resistivity *= factor;
    return layer->kind == EBB_LAYER_POROUS;
}

static bool resist(ebb_unit_model *m, double factor)
{
    return ebb_unit_each_layer(m, resist_layer, factor);
}

/* Wool sinks with the years, upright boxes most. */
static bool settle_layer(ebb_layer *layer, double factor)
{
    if (layer->kind != EBB_LAYER_POROUS)
        return false;
    layer->thickness *= factor;
    return true;
}

/* In a cabinet the air gap grows by what the fill loses; in a stack nothing else would give way,
 * and the depth would change. */
static bool settle(ebb_unit_model *m, double factor)
{
    return m->assembly.kind == EBB_ASSEMBLY_CABINET && ebb_unit_each_layer(m, settle_layer, factor);
}

/* On top of the slit that is planned, if one is. */
static bool leak(ebb_unit_model *m, double width)
{
    for (size_t i = 0; i < m->cabinet.n_cells; i++) {
        ebb_cell *cell = &m->cabinet.cell[i];
        cell->leak += width;
        if (!(cell->leak_path > 0))
            cell->leak_path = m->cabinet.wall.thickness;
    }
    return m->cabinet.n_cells > 0;
}

/* Boards are delivered under size, and makers save on them. */
static bool thin(ebb_unit_model *m, double factor)
{
    m->cabinet.wall.thickness *= factor;
    return m->assembly.kind == EBB_ASSEMBLY_CABINET && !m->cabinet.rigid;
}

/* The brace that was in the way of the fill and was left out. */
static bool unbrace(ebb_unit_model *m, double factor)
{
    (void)factor;
    const bool braced = m->cabinet.brace[0] > 0 || m->cabinet.brace[1] > 0;
    m->cabinet.brace[0] = m->cabinet.brace[1] = 0;
    return braced && !m->cabinet.rigid;
}

/* Not a slip: the line in the table that says what the walls cost. */
static bool stand_still(ebb_unit_model *m, double factor)
{
    (void)factor;
    const bool gave_way = m->assembly.kind == EBB_ASSEMBLY_CABINET && !m->cabinet.rigid;
    m->cabinet.rigid = true;
    return gave_way;
}

/* The depth of the bed stays, and so does its weight. */
static bool rebatch(ebb_layer *layer, const ebb_grains *batch)
{
    if (layer->kind != EBB_LAYER_GRANULAR)
        return false;
    const double density = layer->grains.bed_density;
    layer->grains = *batch;
    layer->grains.bed_density = density;
    layer->resistivity = 0; /* from the new grains */
    return true;
}

/* Both ends have to be functions of their own, since a layer is changed by a factor. */
static bool poor_layer(ebb_layer *layer, double factor)
{
    (void)factor;
    return rebatch(layer, &EBB_UNIT_POOR);
}

static bool good_layer(ebb_layer *layer, double factor)
{
    (void)factor;
    return rebatch(layer, &EBB_UNIT_FAVOURABLE);
}

static bool poor(ebb_unit_model *m, double factor)
{
    return ebb_unit_each_layer(m, poor_layer, factor);
}

static bool good(ebb_unit_model *m, double factor)
{
    return ebb_unit_each_layer(m, good_layer, factor);
}

static const struct slip {
    const char *what;
    bool (*apply)(ebb_unit_model *model, double size);
    double size;
} SLIPS[] = {
    {"fronts 10 % heavier", weigh, 1.1},
    {"fronts 10 % lighter", weigh, 0.9},
    {"mounts twice as stiff", stiffen, 2},
    {"mounts half as stiff", stiffen, 0.5},
    {"fill of twice the flow resistivity", resist, 2},
    {"fill of half the flow resistivity", resist, 0.5},
    {"fill settled by 10 % of its depth", settle, SETTLED},
    {"0.5 mm (0.02 in) slit around the fronts", leak, SLIT},
    {"walls 20 % thinner", thin, 0.8},
    {"braces left out", unbrace, 0},
    {"if the walls did not give way at all", stand_still, 0},
    {"grains of a poor batch", poor, 0},
    {"grains of a favourable batch", good, 0},
};
enum { N_SLIPS = sizeof SLIPS / sizeof SLIPS[0] };

/* ---- the table ------------------------------------------------------------------------------- */

/* Differences, because that is what a maker wants to know of a slip; the designed values stand in
 * the first row of the table. */
static void compare(const ebb_study *study, const ebb_assembly *changed, ebb_change *change)
{
    for (size_t i = 0; i < EBB_CHANGE_HZ; i++)
        change->alpha[i] = ebb_assembly_alpha(changed, &study->air, CHANGE_HZ[i]) - study->alpha[i];
    change->mean = ebb_unit_mean(changed, &study->air) - study->band.mean;
    change->peak_hz = ebb_unit_peak(changed, &study->air);
}

/* What can not be built any more after the slip stays in the table, without numbers. */
static ebb_status try_slip(ebb_ctx *ctx, ebb_study *study, const struct slip *slip,
                           ebb_change *change)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_unit_model *model = ebb_unit_copy(scratch, &study->unit->assembly);
    ebb_status status = EBB_OK;
    if (model == NULL) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for the slips of a unit");
    } else if (slip->apply(model, slip->size)) {
        *change = (ebb_change){slip->what, {NAN, NAN, NAN}, NAN, NAN};
        study->n_changes++;
        const ebb_status built = ebb_unit_ready(NULL, scratch, model);
        if (built == EBB_OK)
            compare(study, &model->assembly, change);
        else if (built != EBB_E_RANGE)
            status = ebb_fail(ctx, built, "\"%s\" can not be computed", slip->what);
    }
    ebb_arena_free(scratch);
    return status;
}

/* One scratch arena for each slip: plates made anew for every one would add up. */
ebb_status ebb_unit_changes(ebb_ctx *ctx, ebb_study *study)
{
    const ebb_assembly *assembly = &study->unit->assembly;
    ebb_change *list = EBB_NEW(study->arena, ebb_change, N_SLIPS);
    if (list == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the slips of a unit");
    study->change = list;
    for (size_t i = 0; i < EBB_CHANGE_HZ; i++)
        study->alpha[i] = ebb_assembly_alpha(assembly, &study->air, CHANGE_HZ[i]);
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < N_SLIPS && status == EBB_OK; i++)
        status = try_slip(ctx, study, &SLIPS[i], &list[study->n_changes]);
    return status;
}
