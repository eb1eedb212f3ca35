/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The moving fronts: what they weigh, where they resonate alone, how they move.
 *
 * Of a cabinet every front is known. Of a stack of layers only the outermost layer is, when it is
 * one that moves: its velocity is that of the face.
 */
#include "private.h"

/* One front's arrays while they are filled; velocity, centre, pressure behind each other. */
typedef struct motion_rows {
    double _Complex *velocity, *centre, *pressure;
} motion_rows;

/* One piece for the three rows of a front. */
static bool rows_new(ebb_study *study, ebb_front_view *view, motion_rows *rows)
{
    const size_t n = study->table.n;
    double _Complex *all = EBB_NEW(study->arena, double _Complex, 3 * n);
    if (all == NULL)
        return false;
    *rows = (motion_rows){all, all + n, all + 2 * n};
    view->velocity = rows->velocity;
    view->centre = rows->centre;
    view->pressure = rows->pressure;
    return true;
}

/* Stiffness per area of a rim of given stiffness per length: spread over the face. */
static double mount_hz(const ebb_front *front, const double side[2], double mass)
{
    const double stiffness = front->mount.stiffness * 2 * (side[0] + side[1]) / (side[0] * side[1]);
    return sqrt(stiffness / mass) / EBB_UNIT_TWO_PI;
}

/* The lowest mode of a panel on a soft rim is the whole panel moving; on a stiff one it bends. */
static double plate_hz(const ebb_plate *plate)
{
    return plate != NULL && plate->n > 0 ? sqrt(fmax(0, creal(plate->lambda[0]))) / EBB_UNIT_TWO_PI
                                         : NAN;
}

/* What a front weighs and how it sits is told beside how it moves, so that a builder can weigh it
 * and a measurer knock at it before the box is closed. */
static bool view_front(ebb_study *study, size_t cell, size_t k, ebb_front_view *view)
{
    const ebb_cabinet *cabinet = study->unit->assembly.cabinet;
    const ebb_front *front = &cabinet->cell[cell].front[k];
    motion_rows rows;
    *view = (ebb_front_view){.cell = cell, .front = k, .panel_hz = plate_hz(front->plate)};
    ebb_cabinet_opening(cabinet, cell, view->side);
    view->mass = front->board.thickness * front->board.density + front->mass;
    view->mount_hz = mount_hz(front, view->side, view->mass);
    if (!rows_new(study, view, &rows))
        return false;
    for (size_t i = 0; i < study->table.n; i++) {
        ebb_motion motion;
        ebb_cabinet_motion(cabinet, cell, &study->air, NULL, EBB_UNIT_TWO_PI * study->table.hz[i],
                           &motion);
        rows.velocity[i] = motion.velocity[k];
        rows.centre[i] = motion.centre[k];
        rows.pressure[i] = motion.pressure[k];
    }
    return true;
}

/* Cell by cell, outer front first: the order in which they are numbered everywhere. */
static bool view_cabinet(ebb_study *study)
{
    const ebb_cabinet *cabinet = study->unit->assembly.cabinet;
    size_t n = 0;
    for (size_t i = 0; i < cabinet->n_cells; i++)
        n += cabinet->cell[i].n_fronts;
    ebb_front_view *view = EBB_NEW(study->arena, ebb_front_view, n);
    study->front = view;
    for (size_t i = 0; view != NULL && i < cabinet->n_cells; i++)
        for (size_t k = 0; k < cabinet->cell[i].n_fronts; k++)
            if (!view_front(study, i, k, &view[study->n_fronts++]))
                return false;
    return view != NULL;
}

/* What gives way as a whole; cloth and sheets with holes let the air past. */
static bool moves(const ebb_layer *layer)
{
    return layer->kind == EBB_LAYER_MASS || layer->kind == EBB_LAYER_PANEL ||
           layer->kind == EBB_LAYER_LUMPED || layer->kind == EBB_LAYER_FRONT;
}

/* What is behind the outermost layer has the same velocity; its impedance times that is the
 * pressure there. Joints that go past the layers are left out. */
static void stack_motion(const ebb_study *study, const motion_rows *rows)
{
    const ebb_assembly *whole = &study->unit->assembly;
    const double rho_c = study->air.density * study->air.speed;
    ebb_assembly behind = *whole;
    behind.layers++;
    behind.n_layers--;
    behind.beta0 = 0;
    for (size_t i = 0; i < study->table.n; i++) {
        const double omega = EBB_UNIT_TWO_PI * study->table.hz[i];
        const double _Complex beta =
            ebb_assembly_beta(whole, &study->air, NULL, omega) - whole->beta0;
        rows->velocity[i] = beta / rho_c;
        if (behind.n_layers > 0)
            rows->pressure[i] = beta / ebb_assembly_beta(&behind, &study->air, NULL, omega);
    }
}

/* A stack may hold more masses further in; what they do is not known from outside. */
static bool view_stack(ebb_study *study)
{
    const ebb_assembly *a = &study->unit->assembly;
    if (a->kind != EBB_ASSEMBLY_LAYERS || !moves(&a->layers[0]))
        return true;
    const ebb_layer *first = &a->layers[0];
    ebb_front_view *view = EBB_NEW(study->arena, ebb_front_view, 1);
    motion_rows rows;
    if (view == NULL || !rows_new(study, view, &rows))
        return false;
    view->mass = first->kind == EBB_LAYER_FRONT ? first->plate->mass : first->mass;
    view->side[0] = study->unit->face[0];
    view->side[1] = study->unit->face[1];
    view->mount_hz = NAN;
    /* A lumped layer that stands on the back has the cavity in its spring. */
    if (first->kind == EBB_LAYER_LUMPED && a->n_layers > 1)
        view->mount_hz = sqrt(first->stiffness / first->mass) / EBB_UNIT_TWO_PI;
    view->panel_hz = first->kind == EBB_LAYER_FRONT ? plate_hz(first->plate) : NAN;
    stack_motion(study, &rows);
    view->centre = NULL;
    if (a->n_layers == 1)
        view->pressure = NULL;
    study->front = view;
    study->n_fronts = 1;
    return true;
}

/* Only what moves at the face carries air with it; the face of the whole unit radiates. */
static void add_radiation(ebb_study *study)
{
    const double mass = ebb_radiation_mass(study->unit->face, &study->air, study->band.peak_hz);
    for (size_t i = 0; i < study->n_fronts; i++)
        ((ebb_front_view *)study->front)[i].radiation = study->front[i].front == 0 ? mass : 0;
}

/* Radiation needs the frequency of the peak, so the band comes first (study.c). */
ebb_status ebb_unit_fronts(ebb_ctx *ctx, ebb_study *study)
{
    const bool done = study->unit->assembly.kind == EBB_ASSEMBLY_CABINET ? view_cabinet(study)
                                                                         : view_stack(study);
    if (!done)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the fronts of a unit");
    add_radiation(study);
    return EBB_OK;
}
