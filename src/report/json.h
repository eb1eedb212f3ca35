/* SPDX-License-Identifier: GPL-3.0-or-later */
/* json.h - small steps towards the JSON document; see docs/json.md. */
#ifndef EBB_REPORT_JSON_H
#define EBB_REPORT_JSON_H

#include <ebb/report.h>
#include <jansson.h>

/* Where a failed step is remembered; arena holds cleaned texts. */
typedef struct ebb_report_json_maker {
    ebb_arena *arena;
    bool failed;
} ebb_report_json_maker;

/* Adds a member or an element; value is stolen, NULL marks the maker as failed. */
void ebb_report_json_set(ebb_report_json_maker *m, json_t *object, const char *key, json_t *value);
void ebb_report_json_push(ebb_report_json_maker *m, json_t *array, json_t *value);

/* New values. A number that is not finite becomes null. Texts lose control characters. */
json_t *ebb_report_json_number(double value);
json_t *ebb_report_json_count(size_t value);
json_t *ebb_report_json_text(ebb_report_json_maker *m, const char *text);
json_t *ebb_report_json_numbers(ebb_report_json_maker *m, size_t n, const double *value);
json_t *ebb_report_json_texts(ebb_report_json_maker *m, size_t n, const char *const *text);
json_t *ebb_report_json_point(ebb_report_json_maker *m, ebb_vec3 point);

/* Warnings of the context as texts. */
json_t *ebb_report_json_warnings(ebb_report_json_maker *m, const ebb_ctx *ctx);
/* The document as text in arena, and the end of it: document is stolen. */
ebb_status ebb_report_json_print(ebb_ctx *ctx, const ebb_report_json_maker *m, json_t *document,
                                 const char **text);

/* One configuration; one use before and after; one room. New values. */
json_t *ebb_report_json_case(ebb_report_json_maker *m, const ebb_answer *answer,
                             const ebb_case *one);
json_t *ebb_report_json_layout(ebb_report_json_maker *m, const ebb_answer *answer,
                               const ebb_layout *layout);
json_t *ebb_report_json_faults(ebb_report_json_maker *m, const ebb_faults *faults,
                               const ebb_faults *after);
json_t *ebb_report_json_room(ebb_report_json_maker *m, const ebb_answer *answer);

#endif
