/* SPDX-License-Identifier: GPL-3.0-or-later */
/* json.c - the JSON document of `ebb judge`. */
#include "json.h"

#include "words.h"

#include <ebb/version.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Values are stolen even on failure, so that nothing leaks on the way. */
void ebb_report_json_set(ebb_report_json_maker *m, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) != 0) {
        m->failed = true;
    }
}

void ebb_report_json_push(ebb_report_json_maker *m, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value) != 0) {
        m->failed = true;
    }
}

/* JSON knows neither NaN nor infinity; docs/json.md says for each member when it is null. */
json_t *ebb_report_json_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *ebb_report_json_count(size_t value)
{
    return json_integer((json_int_t)value);
}

/* Jansson refuses text that is not UTF-8, and terminals obey control characters that a program
 * prints without thinking: texts are cleaned as for people. */
json_t *ebb_report_json_text(ebb_report_json_maker *m, const char *text)
{
    const char *clean = ebb_report_clean(m->arena, text, "");
    return clean ? json_string(clean) : NULL;
}

json_t *ebb_report_json_numbers(ebb_report_json_maker *m, size_t n, const double *value)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        ebb_report_json_push(m, array, ebb_report_json_number(value[i]));
    }
    return array;
}

json_t *ebb_report_json_texts(ebb_report_json_maker *m, size_t n, const char *const *text)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        ebb_report_json_push(m, array, ebb_report_json_text(m, text[i]));
    }
    return array;
}

json_t *ebb_report_json_point(ebb_report_json_maker *m, ebb_vec3 point)
{
    const double at[3] = {point.x, point.y, point.z};
    return ebb_report_json_numbers(m, 3, at);
}

/* Who made this from what; the first member of every document. */
static json_t *head(ebb_report_json_maker *m, const ebb_answers *answers)
{
    json_t *ebb = json_object(), *inputs = json_object();
    ebb_report_json_set(m, inputs, "job", ebb_report_json_text(m, answers->job->file));
    const ebb_effort *effort = answers->effort;
    if (effort) {
        ebb_report_json_set(m, inputs, "seed", json_integer((json_int_t)effort->seed));
        ebb_report_json_set(m, inputs, "starts", ebb_report_json_count(effort->starts));
        ebb_report_json_set(m, inputs, "draws", ebb_report_json_count(effort->draws));
        ebb_report_json_set(m, inputs, "swaps", ebb_report_json_count(effort->swaps));
        ebb_report_json_set(m, inputs, "relaxed", json_boolean(effort->relaxed));
    }
    ebb_report_json_set(m, ebb, "version", json_string(ebb_version()));
    ebb_report_json_set(m, ebb, "schema", json_integer(EBB_JSON_SCHEMA));
    ebb_report_json_set(m, ebb, "command", json_string("judge"));
    ebb_report_json_set(m, ebb, "inputs", inputs);
    return ebb;
}

/* Limits in force, by the keys of the job file. */
static json_t *limits(ebb_report_json_maker *m, const ebb_job *job)
{
    json_t *object = json_object();
    size_t n;
    const ebb_limit *limit = ebb_limit_table(&n);
    for (size_t i = 0; i < n; i++) {
        double value = limit[i].value;
        for (size_t k = 0; k < job->n_overrides; k++) {
            value = job->overrides[k].limit == i ? job->overrides[k].value : value;
        }
        ebb_report_json_set(m, object, limit[i].key, ebb_report_json_number(value));
    }
    return object;
}

/* What was asked, so that a document can be read without its job file. */
static json_t *job_object(ebb_report_json_maker *m, const ebb_job *job)
{
    json_t *object = json_object(), *air = json_object(), *allowance = json_object();
    const ebb_allowance *a = &job->allowance;
    ebb_report_json_set(m, air, "temperature_c", ebb_report_json_number(job->air.temperature));
    ebb_report_json_set(m, air, "speed_m_s", ebb_report_json_number(job->air.speed));
    ebb_report_json_set(m, air, "density_kg_m3", ebb_report_json_number(job->air.density));
    ebb_report_json_set(m, allowance, "mass_kg", ebb_report_json_number(a->mass));
    ebb_report_json_set(m, allowance, "cover", ebb_report_json_number(a->cover));
    ebb_report_json_set(m, allowance, "depth_m", ebb_report_json_number(a->depth));
    ebb_report_json_set(m, allowance, "cost", ebb_report_json_number(a->cost));
    ebb_report_json_set(m, allowance, "count", ebb_report_json_number(a->count));
    ebb_report_json_set(m, allowance, "floor_pa", ebb_report_json_number(a->floor));
    ebb_report_json_set(m, object, "name", ebb_report_json_text(m, job->name));
    ebb_report_json_set(m, object, "note", ebb_report_json_text(m, job->note));
    ebb_report_json_set(m, object, "use", json_string(ebb_report_use(job->use)));
    ebb_report_json_set(m, object, "lowest_hz", ebb_report_json_number(job->lowest));
    ebb_report_json_set(m, object, "air", air);
    ebb_report_json_set(m, object, "allowance", allowance);
    ebb_report_json_set(m, object, "limits", limits(m, job));
    return object;
}

/* Texts alone, as in every document of the program: the place of a warning in the job file is for
 * people and stands on standard error. */
json_t *ebb_report_json_warnings(ebb_report_json_maker *m, const ebb_ctx *ctx)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++) {
        const ebb_message *message = ebb_ctx_message(ctx, i);
        if (message->status == EBB_OK) {
            ebb_report_json_push(m, array, ebb_report_json_text(m, message->text));
        }
    }
    return array;
}

ebb_status ebb_report_json_print(ebb_ctx *ctx, const ebb_report_json_maker *m, json_t *document,
                                 const char **text)
{
    char *dump =
        m->failed
            ? NULL
            : json_dumps(document, JSON_PRESERVE_ORDER | JSON_REAL_PRECISION(17) | JSON_INDENT(1));
    *text = dump ? ebb_arena_text(m->arena, dump) : NULL;
    free(dump);
    json_decref(document);
    return *text ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the JSON document");
}

/* Order is kept as it is set here: people read these documents too. */
ebb_status ebb_report_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_answers *answers,
                           const char **text)
{
    ebb_report_json_maker m = {.arena = arena};
    json_t *document = json_object(), *rooms = json_array();
    *text = NULL;
    for (size_t i = 0; i < answers->n; i++) {
        ebb_report_json_push(&m, rooms, ebb_report_json_room(&m, answers->answer[i]));
    }
    ebb_report_json_set(&m, document, "ebb", head(&m, answers));
    ebb_report_json_set(&m, document, "units", json_string("SI"));
    ebb_report_json_set(&m, document, "job", job_object(&m, answers->job));
    ebb_report_json_set(&m, document, "rooms", rooms);
    ebb_report_json_set(&m, document, "warnings", ebb_report_json_warnings(&m, ctx));
    return ebb_report_json_print(ctx, &m, document, text);
}
