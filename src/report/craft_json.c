/* SPDX-License-Identifier: GPL-3.0-or-later */
/* craft_json.c - the JSON document of `ebb craft`; see docs/json.md. */
#include "craft_words.h"
#include "json.h"

#include <ebb/version.h>
#include <math.h>

typedef ebb_report_json_maker maker;

static void number(maker *m, json_t *object, const char *key, double value)
{
    ebb_report_json_set(m, object, key, ebb_report_json_number(value));
}

static void count(maker *m, json_t *object, const char *key, size_t value)
{
    ebb_report_json_set(m, object, key, ebb_report_json_count(value));
}

static void text(maker *m, json_t *object, const char *key, const char *value)
{
    ebb_report_json_set(m, object, key, value ? ebb_report_json_text(m, value) : json_null());
}

static void numbers(maker *m, json_t *object, const char *key, size_t n, const double *value)
{
    ebb_report_json_set(m, object, key, ebb_report_json_numbers(m, n, value));
}

/* ---- boxes ----------------------------------------------------------------------------------- */

static json_t *fronts(maker *m, const ebb_craft_recipe *r, int c)
{
    json_t *array = json_array();
    for (int f = 0; f < r->fronts; f++) {
        const ebb_craft_front *front = &r->cell[c].front[f];
        json_t *object = json_object();
        text(m, object, "material", front->material->name);
        number(m, object, "thickness_m", front->thickness);
        number(m, object, "trim_kg_m2", front->trim);
        text(m, object, "strip", front->strip->name);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *cells(maker *m, const ebb_craft_recipe *r)
{
    json_t *array = json_array();
    for (int c = 0; c < r->cells; c++) {
        const ebb_craft_cell *cell = &r->cell[c];
        json_t *object = json_object();
        number(m, object, "share", cell->share);
        number(m, object, "gap_m", cell->gap);
        number(m, object, "gap_wool_m", cell->gap_wool);
        number(m, object, "wool_m", cell->wool);
        number(m, object, "grains_kg", cell->grains);
        ebb_report_json_set(m, object, "fronts", fronts(m, r, c));
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *recipe(maker *m, const ebb_craft_recipe *r)
{
    const double brace[2] = {r->brace[0], r->brace[1]};
    json_t *object = json_object();
    numbers(m, object, "face_m", 2, r->face);
    number(m, object, "depth_m", r->depth);
    text(m, object, "wall", r->wall->name);
    number(m, object, "wall_m", r->wall_thickness);
    numbers(m, object, "braces", 2, brace);
    text(m, object, "wool", r->wool ? r->wool->name : NULL);
    text(m, object, "batch", r->batch ? r->batch->name : NULL);
    ebb_report_json_set(m, object, "cells", cells(m, r));
    return object;
}

static json_t *merit(maker *m, const ebb_craft *craft, const ebb_craft_merit *value)
{
    const bool mode = craft->target->goal == EBB_GOAL_MODE;
    json_t *object = json_object();
    number(m, object, mode ? "fall_db" : "mean", value->absorption);
    number(m, object, "shortfall", value->shortfall);
    number(m, object, "mass_kg", value->mass);
    number(m, object, "depth_m", value->depth);
    number(m, object, "cost", value->priced ? value->cost : NAN);
    return object;
}

/* ---- picks ----------------------------------------------------------------------------------- */

static json_t *parts(maker *m, const ebb_craft_pick *pick)
{
    json_t *array = json_array();
    for (size_t i = 0; i < pick->n_parts; i++) {
        const ebb_craft_part *p = &pick->part[i];
        json_t *object = json_object();
        text(m, object, "what", p->what);
        text(m, object, "material", p->material);
        count(m, object, "count", p->count);
        numbers(m, object, "size_m", 3, p->size);
        number(m, object, "mass_kg", p->mass);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *readings(maker *m, const ebb_craft_pick *pick)
{
    json_t *array = json_array();
    for (size_t i = 0; i < pick->n_readings; i++) {
        const ebb_craft_reading *r = &pick->reading[i];
        json_t *object = json_object();
        count(m, object, "cell", (size_t)r->cell + 1);
        count(m, object, "front", (size_t)r->front + 1);
        number(m, object, "mass_kg", r->mass);
        number(m, object, "mount_hz", r->mount_hz);
        number(m, object, "peak_hz", r->peak_hz);
        number(m, object, "peak_m_s_pa", r->peak);
        numbers(m, object, "velocity_30_40_50_m_s_pa", 3, r->velocity);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *sure(maker *m, const ebb_craft_sure *s)
{
    json_t *object = json_object();
    count(m, object, "starts", s->starts);
    number(m, object, "agree", s->agree);
    number(m, object, "best", s->best);
    number(m, object, "worst", s->worst);
    return object;
}

static void notes(maker *m, json_t *object, const ebb_craft_pick *pick)
{
    const char *note[EBB_REPORT_CRAFT_NOTES];
    size_t n = ebb_report_craft_steps(pick, note);
    ebb_report_json_set(m, object, "steps", ebb_report_json_texts(m, n, note));
    n = ebb_report_craft_cautions(pick, note);
    ebb_report_json_set(m, object, "cautions", ebb_report_json_texts(m, n, note));
}

static json_t *pick_of(maker *m, const ebb_craft *craft, const ebb_craft_pick *pick)
{
    json_t *object = json_object();
    text(m, object, "aim", ebb_craft_aim_name(pick->aim));
    text(m, object, "name", pick->unit.name);
    ebb_report_json_set(m, object, "passes", json_boolean(pick->passes));
    ebb_report_json_set(m, object, "box", recipe(m, &pick->recipe));
    ebb_report_json_set(m, object, "merit", merit(m, craft, &pick->merit));
    ebb_report_json_set(m, object, "merit_search", merit(m, craft, &pick->quick));
    ebb_report_json_set(m, object, "merit_worst", merit(m, craft, &pick->worst));
    count(m, object, "slips", pick->n_slips);
    numbers(m, object, "hz", pick->n, pick->hz);
    numbers(m, object, "alpha_normal", pick->n, pick->alpha);
    numbers(m, object, "alpha_worst", pick->n, pick->alpha_worst);
    number(m, object, "peak_hz", pick->peak_hz);
    number(m, object, "peak", pick->peak);
    number(m, object, "resonance_hz", pick->resonance_hz);
    number(m, object, "wave_fall_db", pick->wave);
    ebb_report_json_set(m, object, "sure", sure(m, &pick->sure));
    ebb_report_json_set(m, object, "parts", parts(m, pick));
    ebb_report_json_set(m, object, "readings", readings(m, pick));
    notes(m, object, pick);
    return object;
}

/* ---- targets --------------------------------------------------------------------------------- */

static json_t *trade_offs(maker *m, const ebb_craft *craft)
{
    json_t *array = json_array();
    for (size_t i = 0; i < craft->n_front; i++) {
        json_t *object = merit(m, craft, &craft->front_merit[i]);
        ebb_report_json_set(m, object, "box", recipe(m, &craft->front[i]));
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *layouts(maker *m, const ebb_craft *craft)
{
    const bool mode = craft->target->goal == EBB_GOAL_MODE;
    json_t *array = json_array();
    for (size_t i = 0; i < craft->n_layouts; i++) {
        const ebb_craft_layout *l = &craft->layout[i];
        json_t *object = json_object();
        count(m, object, "cells", (size_t)l->cells);
        count(m, object, "fronts", (size_t)l->fronts);
        number(m, object, "shortfall", l->shortfall);
        number(m, object, mode ? "fall_db" : "mean", l->absorption);
        number(m, object, "mass_kg", l->mass);
        number(m, object, "depth_m", l->depth);
        number(m, object, "cost", l->cost);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *stops(maker *m, const ebb_craft *craft)
{
    json_t *array = json_array();
    for (size_t i = 0; i < craft->n_stops; i++) {
        json_t *object = json_object();
        text(m, object, "limit", craft->stop[i].limit);
        ebb_report_json_set(m, object, "passes_without", json_boolean(craft->stop[i].passes));
        number(m, object, "lacking", craft->stop[i].shortfall);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *mode(maker *m, const ebb_craft_mode *value)
{
    if (!value->room) {
        return json_null();
    }
    json_t *object = json_object(), *label = json_array();
    for (int d = 0; d < 3; d++) {
        ebb_report_json_push(m, label, json_integer(value->label[d]));
    }
    text(m, object, "room", value->room->name);
    number(m, object, "hz", value->hz);
    number(m, object, "t60_s", value->t60);
    ebb_report_json_set(m, object, "label", label);
    count(m, object, "units", value->n);
    return object;
}

static json_t *target(maker *m, const ebb_craft *craft)
{
    static const char *const goals[] = {"curve", "mean", "mode"};
    json_t *object = json_object(), *picks = json_array();
    for (size_t i = 0; i < craft->n_picks; i++) {
        ebb_report_json_push(m, picks, pick_of(m, craft, &craft->pick[i]));
    }
    text(m, object, "name", craft->target->name);
    text(m, object, "goal", goals[craft->target->goal]);
    ebb_report_json_set(m, object, "robust", json_boolean(craft->target->robust));
    ebb_report_json_set(m, object, "passes", json_boolean(craft->passes));
    number(m, object, "required", craft->required);
    number(m, object, "depth_needed_m", craft->depth_needed);
    count(m, object, "evaluated", craft->evaluated);
    count(m, object, "checked", craft->checked);
    ebb_report_json_set(m, object, "mode", mode(m, &craft->mode));
    ebb_report_json_set(m, object, "picks", picks);
    ebb_report_json_set(m, object, "trade_offs", trade_offs(m, craft));
    ebb_report_json_set(m, object, "layouts", layouts(m, craft));
    ebb_report_json_set(m, object, "stops", stops(m, craft));
    return object;
}

ebb_status ebb_report_crafts_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_crafts *crafts,
                                  const char **out)
{
    maker m = {.arena = arena};
    json_t *whole = json_object(), *ebb = json_object(), *inputs = json_object();
    json_t *targets = json_array();
    text(&m, inputs, "file", crafts->library->file);
    if (crafts->n > 0) {
        const ebb_craft_effort *e = &crafts->craft[0]->effort;
        count(&m, inputs, "seed", e->seed);
        count(&m, inputs, "starts", e->starts);
        count(&m, inputs, "population", e->population);
        count(&m, inputs, "generations", e->generations);
    }
    text(&m, ebb, "version", ebb_version());
    ebb_report_json_set(&m, ebb, "schema", json_integer(EBB_JSON_SCHEMA));
    text(&m, ebb, "command", "craft");
    ebb_report_json_set(&m, ebb, "inputs", inputs);
    ebb_report_json_set(&m, whole, "ebb", ebb);
    for (size_t i = 0; i < crafts->n; i++) {
        ebb_report_json_push(&m, targets, target(&m, crafts->craft[i]));
    }
    ebb_report_json_set(&m, whole, "targets", targets);
    ebb_report_json_set(&m, whole, "warnings", ebb_report_json_warnings(&m, ctx));
    return ebb_report_json_print(ctx, &m, whole, out);
}
