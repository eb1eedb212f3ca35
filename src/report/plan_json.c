/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plan_json.c - one plan in detail, for programs; see docs/json.md. */
#include "json.h"
#include "plan.h"

#include <ebb/version.h>

#include <math.h>

/* What all parts of the document need. */
typedef struct maker {
    ebb_report_json_maker json;
    const ebb_planned *plan;
    const ebb_answer *answer;
} maker;

static void set(maker *m, json_t *object, const char *key, json_t *value)
{
    ebb_report_json_set(&m->json, object, key, value);
}

static void set_number(maker *m, json_t *object, const char *key, double value)
{
    set(m, object, key, ebb_report_json_number(value));
}

/* ---- where everything goes ------------------------------------------------------------------- */

/* Names and distances in two arrays, as everywhere: index k of one goes with index k of the other.
 */
static void set_walls(maker *m, json_t *object, const ebb_floor_place *place)
{
    json_t *walls = json_array();
    for (size_t k = 0; k < place->n; k++)
        ebb_report_json_push(
            &m->json, walls,
            ebb_report_json_text(&m->json, m->answer->room->surfaces[place->wall[k]].name));
    set(m, object, "walls", walls);
    set(m, object, "from_walls_m", ebb_report_json_numbers(&m->json, place->n, place->distance));
}

/* Aligned with plan.units. */
static json_t *places(maker *m)
{
    const ebb_job *job = m->answer->job;
    const ebb_room *room = m->answer->room;
    const ebb_layout *layout = &m->plan->treatment->after.layout;
    json_t *array = json_array();
    for (size_t p = 0; p < layout->n_placed; p++) {
        const ebb_placed *placed = &layout->placed[p];
        json_t *one = json_object();
        set(m, one, "number", ebb_report_json_count(p + 1));
        if (ebb_is_wall(room, placed->surface)) {
            const ebb_wall_place place = ebb_place_on_wall(job, room, placed);
            set_number(m, one, "from_left_m", place.left);
            set_number(m, one, "from_right_m", place.right);
            set_number(m, one, "from_floor_m", place.floor);
            set_number(m, one, "from_top_m", place.top);
        } else {
            const ebb_floor_place place = ebb_place_under(job, room, placed);
            set_walls(m, one, &place);
        }
        ebb_report_json_push(&m->json, array, one);
    }
    return array;
}

/* How far it was moved says whether the plan rests on moving it. */
static json_t *station(maker *m, const char *what, const ebb_station *wished, const ebb_vec3 *now)
{
    const ebb_vec3 at = now ? *now : wished->at;
    const ebb_floor_place place = ebb_place_on_floor(m->answer->room, at);
    json_t *one = json_object();
    set(m, one, "name", ebb_report_json_text(&m->json, wished->name));
    set(m, one, "what", json_string(what));
    set(m, one, "at_m", ebb_report_json_point(&m->json, at));
    set_walls(m, one, &place);
    set_number(m, one, "from_floor_m", at.z - m->answer->room->surfaces[0].origin.z);
    set_number(m, one, "moved_m", hypot(at.x - wished->at.x, at.y - wished->at.y));
    return one;
}

static json_t *stations(maker *m)
{
    const ebb_room *room = m->answer->room;
    const ebb_layout *layout = &m->plan->treatment->after.layout;
    json_t *array = json_array();
    for (size_t i = 0; i < room->n_seats; i++)
        ebb_report_json_push(
            &m->json, array,
            station(m, "seat", &room->seats[i], layout->seats ? &layout->seats[i] : NULL));
    for (size_t i = 0; i < room->n_speakers; i++)
        ebb_report_json_push(&m->json, array,
                             station(m, "speaker", &room->speakers[i],
                                     layout->speakers ? &layout->speakers[i] : NULL));
    return array;
}

/* The words go by: programs want the numbers, whatever the units of the job. */
static json_t *totals(maker *m)
{
    ebb_plan_total total[EBB_PLAN_TOTALS];
    ebb_plan_totals(m->json.arena, m->answer->job, m->answer->room,
                    &m->plan->treatment->after.layout, m->answer->job->units, total);
    json_t *object = json_object();
    for (int i = 0; i < EBB_PLAN_TOTALS; i++) {
        json_t *one = json_object();
        set_number(m, one, "used", total[i].used);
        set_number(m, one, "allowed", total[i].allowed);
        set(m, object, total[i].key, one);
    }
    return object;
}

/* ---- what it is worth ------------------------------------------------------------------------ */

static json_t *label(maker *m, const int number[3])
{
    json_t *array = json_array();
    for (int i = 0; i < 3; i++)
        ebb_report_json_push(&m->json, array, json_integer(number[i]));
    return array;
}

/* The limit stands at each mode: it falls with frequency. */
static json_t *slow_modes(maker *m)
{
    json_t *array = json_array();
    for (size_t i = 0; i < m->plan->n_slow; i++) {
        const ebb_slow_mode *mode = &m->plan->slow[i];
        json_t *one = json_object();
        set_number(m, one, "hz", mode->hz);
        set(m, one, "label", label(m, mode->label));
        set_number(m, one, "limit_s", mode->limit);
        set_number(m, one, "before_s", mode->before);
        set_number(m, one, "after_s", mode->after);
        ebb_report_json_push(&m->json, array, one);
    }
    return array;
}

/* Numbers of the plan without the unit, not differences: whoever wants those has the plan itself.
 */
static json_t *gains(maker *m)
{
    json_t *array = json_array();
    for (size_t i = 0; i < m->plan->n_gains; i++) {
        const ebb_gain *gain = &m->plan->gain[i];
        json_t *one = json_object();
        set(m, one, "number", ebb_report_json_count(gain->placed + 1));
        set(m, one, "right", json_boolean(gain->right));
        set_number(m, one, "wrong", gain->wrong);
        set_number(m, one, "wrong_level", gain->wrong_level);
        set_number(m, one, "wrong_decay", gain->wrong_decay);
        set_number(m, one, "margin", gain->margin);
        set(m, one, "slow_t60_s", ebb_report_json_numbers(&m->json, m->plan->n_slow, gain->slow));
        ebb_report_json_push(&m->json, array, one);
    }
    return array;
}

/* ---- what else would do ---------------------------------------------------------------------- */

/* Each with its whole layout, so that it can be drawn or costed without a second run. */
static json_t *alternatives(maker *m)
{
    json_t *array = json_array();
    for (size_t i = 0; i < m->plan->n_alternatives; i++) {
        const ebb_alternative *a = &m->plan->alternative[i];
        json_t *one = json_object();
        set(m, one, "name", json_string(ebb_alternative_name(a->kind)));
        set(m, one, "passes", json_boolean(a->passes));
        set_number(m, one, "wrong", a->wrong);
        set_number(m, one, "worst_level_db", a->worst_level);
        set_number(m, one, "worst_decay", a->worst_decay);
        set_number(m, one, "margin", a->margin);
        set_number(m, one, "right_share", a->odds.draws > 0 ? a->odds.share : NAN);
        set(m, one, "plan", ebb_report_json_layout(&m->json, m->answer, &a->layout));
        ebb_report_json_push(&m->json, array, one);
    }
    return array;
}

/* What does not fit has no numbers; zeros would look like results. */
static json_t *next_kinds(maker *m, const ebb_curve *curve)
{
    json_t *array = json_array();
    for (size_t i = 0; i < curve->n_next; i++) {
        const ebb_curve_next *next = &curve->next[i];
        json_t *one = json_object();
        set(m, one, "unit",
            ebb_report_json_text(&m->json, m->answer->job->absorbers[next->unit].name));
        set(m, one, "fits", json_boolean(next->fits));
        set(m, one, "allowed", json_boolean(next->fits && next->allowed));
        set_number(m, one, "wrong", next->fits ? next->wrong : NAN);
        set_number(m, one, "mended", next->fits ? next->mended : NAN);
        ebb_report_json_push(&m->json, array, one);
    }
    return array;
}

/* Arrays aligned by index: the number of units, and what it comes to. */
static json_t *curve_object(maker *m)
{
    const ebb_curve *curve = m->plan->curve;
    if (!curve)
        return json_null();
    json_t *object = json_object(), *units = json_array(), *right = json_array();
    json_t *wrong = json_array(), *mass = json_array(), *cost = json_array();
    for (size_t i = 0; i < curve->n; i++) {
        const ebb_curve_point *point = &curve->point[i];
        ebb_report_json_push(&m->json, units, ebb_report_json_count(point->n));
        ebb_report_json_push(&m->json, wrong, ebb_report_json_number(point->wrong));
        ebb_report_json_push(&m->json, right, json_boolean(point->right));
        ebb_report_json_push(&m->json, mass, ebb_report_json_number(point->mass));
        ebb_report_json_push(&m->json, cost, ebb_report_json_number(point->cost));
    }
    set(m, object, "units", units);
    set(m, object, "wrong", wrong);
    set(m, object, "right", right);
    set(m, object, "mass_kg", mass);
    set(m, object, "cost", cost);
    set(m, object, "enough", ebb_report_json_count(curve->enough));
    set(m, object, "next", next_kinds(m, curve));
    set(m, object, "sentence", ebb_report_json_text(&m->json, curve->sentence));
    return object;
}

/* A bound of 0 s is none: nothing can be said of that mode. */
static json_t *bound_object(maker *m)
{
    const ebb_decay_bound *bound = m->plan->bound;
    if (!bound)
        return json_null();
    json_t *object = json_object(), *modes = json_array();
    for (size_t i = 0; i < bound->n; i++) {
        const ebb_mode_reach *mode = &bound->mode[i];
        json_t *one = json_object();
        set_number(m, one, "hz", mode->hz);
        set(m, one, "label", label(m, mode->label));
        set_number(m, one, "t60_s", mode->t60);
        set_number(m, one, "limit_s", mode->limit);
        set_number(m, one, "estimate_s", mode->estimate);
        set_number(m, one, "bound_s", mode->bound > 0 ? mode->bound : NAN);
        set_number(m, one, "bound_own_s", mode->bound_own);
        ebb_report_json_push(&m->json, modes, one);
    }
    set(m, object, "modes", modes);
    set(m, object, "stops",
        bound->stops < bound->n ? ebb_report_json_count(bound->stops) : json_null());
    set(m, object, "sentence", ebb_report_json_text(&m->json, bound->sentence));
    return object;
}

/* Without draws there is no share and no spread, which is not the same as none. */
static json_t *doubt_object(maker *m)
{
    const ebb_doubt *doubt = &m->plan->doubt;
    json_t *object = json_object(), *parts = json_array();
    for (int u = 0; u < EBB_UNKNOWNS && doubt->draws > 0; u++) {
        json_t *one = json_object();
        set(m, one, "unknown", json_string(ebb_unknown_name((ebb_unknown)u)));
        set_number(m, one, "explained", doubt->part[u].explained);
        set_number(m, one, "right_share", doubt->part[u].share);
        set_number(m, one, "spread", doubt->part[u].spread);
        ebb_report_json_push(&m->json, parts, one);
    }
    set(m, object, "draws", ebb_report_json_count(doubt->draws));
    set_number(m, object, "right_share", doubt->draws > 0 ? doubt->share : NAN);
    set_number(m, object, "spread", doubt->draws > 0 ? doubt->spread : NAN);
    set(m, object, "parts", parts);
    set(m, object, "most", doubt->any ? json_string(ebb_unknown_name(doubt->most)) : json_null());
    set(m, object, "measure", ebb_report_json_text(&m->json, doubt->measure));
    return object;
}

/* ---- solved again ---------------------------------------------------------------------------- */

static void set_comparison(maker *m, json_t *object, const ebb_verified *v)
{
    set_number(m, object, "level_db", v->level);
    set_number(m, object, "level_most_db", v->level_most);
    set_number(m, object, "volume_m3", v->volume);
    set_number(m, object, "wrong", v->wrong);
    set_number(m, object, "margin", v->margin);
    set(m, object, "right", json_boolean(v->right));
    set(m, object, "freedoms", ebb_report_json_count(v->note.freedoms));
    set_number(m, object, "mesh_error", v->note.mesh_error);
}

/* Null when it was not asked for; what could not be solved has a reason in place of numbers. */
static json_t *verified_object(maker *m, const ebb_verified *v)
{
    if (!v)
        return json_null();
    json_t *object = json_object();
    set(m, object, "solved", json_boolean(v->solved));
    set(m, object, "reason", v->solved ? json_null() : ebb_report_json_text(&m->json, v->reason));
    if (v->solved)
        set_comparison(m, object, v);
    set_number(m, object, "flat_volume_m3", v->flat_volume);
    set_number(m, object, "flat_wrong", v->flat_wrong);
    set_number(m, object, "flat_margin", v->flat_margin);
    set(m, object, "flat_right", json_boolean(v->flat_right));
    set(m, object, "flips", json_boolean(ebb_verified_flips(v)));
    set(m, object, "bodies", ebb_report_json_count(v->n_bodies));
    set(m, object, "flat_units", ebb_report_json_count(v->n_flat));
    set(m, object, "closed", ebb_report_json_count(v->n_closed));
    set_number(m, object, "closed_m3", v->closed);
    set(m, object, "covered", ebb_report_json_count(v->n_covered));
    set_number(m, object, "covered_most", v->covered_most);
    set(m, object, "sentence", ebb_report_json_text(&m->json, v->sentence));
    return object;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static json_t *head(maker *m, const ebb_detail_effort *effort)
{
    json_t *object = json_object(), *inputs = json_object();
    set(m, inputs, "job", ebb_report_json_text(&m->json, m->answer->job->file));
    set(m, inputs, "room", ebb_report_json_text(&m->json, m->answer->room->name));
    set(m, inputs, "use", json_string(ebb_report_use(m->plan->treatment->use)));
    set(m, inputs, "seed", json_integer((json_int_t)effort->search.seed));
    set(m, inputs, "starts", ebb_report_json_count(effort->search.starts));
    set(m, inputs, "draws", ebb_report_json_count(effort->search.draws));
    set(m, object, "version", json_string(ebb_version()));
    set(m, object, "schema", json_integer(1));
    set(m, object, "command", json_string("plan"));
    set(m, object, "inputs", inputs);
    return object;
}

static void set_verdict(maker *m, json_t *document)
{
    const ebb_answer *a = m->answer;
    const ebb_odds *odds = &m->plan->treatment->odds;
    set(m, document, "passes", json_boolean(m->plan->passes));
    set(m, document, "verdict", json_string(ebb_verdict_name(a->verdict)));
    set_number(m, document, "right_share", odds->draws > 0 ? odds->share : NAN);
    set_number(m, document, "sure", a->sure);
    set(m, document, "near_border", json_boolean(a->near_border));
    set(m, document, "decider", ebb_report_json_text(&m->json, a->decider));
    set_number(m, document, "margin", a->margin);
    set(m, document, "reasons", ebb_report_json_texts(&m->json, a->n_reasons, a->reasons));
    set(m, document, "stays", ebb_report_json_texts(&m->json, a->n_stays, a->stays));
}

ebb_status ebb_plan_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_plan_papers *papers,
                         const char **text)
{
    maker made = {.json = {.arena = arena}, .plan = papers->plan, .answer = papers->plan->answer};
    maker *m = &made;
    const ebb_treatment *t = m->plan->treatment;
    json_t *document = json_object();
    set(m, document, "ebb", head(m, papers->effort));
    set(m, document, "units", json_string("SI"));
    set_verdict(m, document);
    set(m, document, "plan", ebb_report_json_layout(&m->json, m->answer, &t->after.layout));
    set(m, document, "places", places(m));
    set(m, document, "stations", stations(m));
    set(m, document, "totals", totals(m));
    set(m, document, "slow_modes", slow_modes(m));
    set(m, document, "without", gains(m));
    set(m, document, "alternatives", alternatives(m));
    set(m, document, "curve", curve_object(m));
    set(m, document, "bound", bound_object(m));
    set(m, document, "doubt", doubt_object(m));
    set(m, document, "boxes", verified_object(m, papers->verified));
    set(m, document, "before", ebb_report_json_case(&m->json, m->answer, &t->before));
    set(m, document, "after", ebb_report_json_case(&m->json, m->answer, &t->after));
    set(m, document, "warnings", ebb_report_json_warnings(&m->json, ctx));
    return ebb_report_json_print(ctx, &m->json, document, text);
}
