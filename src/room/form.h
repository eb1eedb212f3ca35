/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * form.h - the tables that say what a job file or library file may hold. The checker, the JSON
 * Schema and the key references of docs/job-file.md and docs/library-file.md all read these tables
 * and nothing else.
 */
#ifndef EBB_ROOM_FORM_H
#define EBB_ROOM_FORM_H

#include <ebb/job.h>

/* Shapes of a value. */
typedef enum ebb_room_kind {
    EBB_ROOM_TEXT,       /* one line of at most `most` characters */
    EBB_ROOM_NOTE,       /* text that may run over several lines */
    EBB_ROOM_NAME,       /* the name of a construction or absorber */
    EBB_ROOM_NAMES,      /* list of different names */
    EBB_ROOM_FILE,       /* a plain relative path */
    EBB_ROOM_QUANTITY,   /* one quantity */
    EBB_ROOM_SPAN,       /* one quantity, or a list [least, most] */
    EBB_ROOM_VECTOR,     /* list of `least` to `most` quantities */
    EBB_ROOM_CURVE,      /* list of [frequency, quantity], frequencies rising */
    EBB_ROOM_PAIR,       /* one of them */
    EBB_ROOM_POINTS,     /* list of points [x, y], or [x, y, z] */
    EBB_ROOM_OUTLINES,   /* list of such lists */
    EBB_ROOM_HEIGHTS,    /* one quantity, a list of them, or a mapping */
    EBB_ROOM_CHOICE,     /* one of `words`; N in a word stands for a number */
    EBB_ROOM_CHOICES,    /* list of different `words` */
    EBB_ROOM_FLAG,       /* yes or no */
    EBB_ROOM_PANEL,      /* "12.5 mm gypsum": a thickness, and perhaps a material */
    EBB_ROOM_ADMITTANCE, /* a number, a list [real, imaginary], or a mapping */
    EBB_ROOM_FORM,       /* a mapping */
    EBB_ROOM_FORMS,      /* list of mappings of one form */
    EBB_ROOM_NAMED,      /* mapping from free names to mappings */
    EBB_ROOM_KINDS_OF    /* list of mappings; the key present tells which of `n_forms` forms */
} ebb_room_kind;

struct ebb_room_form;

/* What one key of a mapping may hold. Ranges include their ends. */
typedef struct ebb_room_rule {
    const char *key; /* an N in it stands for a number: wall_N takes wall_1 and wall_12 */
    ebb_room_kind kind;
    bool required;
    ebb_quantity_kind quantity;
    double low, high;         /* SI */
    size_t least, most;       /* items of a list, or most characters of a text */
    const char *const *words; /* ends with NULL */
    const struct ebb_room_form *form;
    size_t n_forms;
    size_t width;         /* coordinates of a point, 0: two */
    size_t points[2];     /* least and most points of an outline of several */
    const char *instead;  /* said when the value has another shape, NULL: the usual text */
    const char *fallback; /* what holds when the key is absent, for the reference; NULL: nothing */
    const char *meaning;
} ebb_room_rule;

/* One mapping: its keys in the order of the reference. */
typedef struct ebb_room_form {
    const char *id;   /* for the schema, "room" */
    const char *what; /* for people, "a room" */
    size_t n;
    const ebb_room_rule *rules;
} ebb_room_form;

/* The job file and the library file as a whole, and the lists of presets. */
extern const ebb_room_form ebb_room_job_form;
extern const ebb_room_form ebb_room_library_form;
extern const ebb_room_form ebb_room_presets_form;
extern const ebb_room_form ebb_room_stock_form;

/* Every form of a file once, for its schema and its reference; the file as a whole comes first. */
typedef const ebb_room_form *ebb_room_form_list;
extern const ebb_room_form_list ebb_room_job_forms[];
extern const size_t ebb_room_n_job_forms;
extern const ebb_room_form_list ebb_room_library_forms[];
extern const size_t ebb_room_n_library_forms;

/* The forms of layers, in the order of ebb_layer_kind; a front is part of a cabinet and no layer
 * of a file. */
#define EBB_ROOM_LAYER_FORMS (EBB_LAYER_SLITS + 1)
extern const ebb_room_form ebb_room_layer_forms[EBB_ROOM_LAYER_FORMS];
/* The kind of the layer that was checked by a form. */
ebb_layer_kind ebb_room_layer_kind(const ebb_room_form *form);

/* Forms that several tables share. */
extern const ebb_room_form ebb_room_air_form, ebb_room_table_form, ebb_room_unit_form;
extern const ebb_room_form ebb_room_lumped_form, ebb_room_cabinet_form, ebb_room_front_form;
extern const ebb_room_form ebb_room_mount_form, ebb_room_leak_form, ebb_room_cell_form;

/* Those of a room and its parts. */
extern const ebb_room_form ebb_room_room_form, ebb_room_ceiling_form, ebb_room_ridge_form;
extern const ebb_room_form ebb_room_body_form, ebb_room_surfaces_form, ebb_room_opening_form;
extern const ebb_room_form ebb_room_seat_form, ebb_room_speaker_form, ebb_room_placed_form;
extern const ebb_room_form ebb_room_change_form, ebb_room_move_form;

/* What can be poured or laid into a box. */
#define EBB_ROOM_FILL_FORMS 3
extern const ebb_room_form ebb_room_fill_forms[EBB_ROOM_FILL_FORMS];

/* Where frequencies of curves lie, Hz. */
#define EBB_ROOM_CURVE_LOW 10.0
#define EBB_ROOM_CURVE_HIGH 5000.0

/* The form of `limits` is made from the table of limits (limits.c). */
extern const ebb_room_form ebb_room_limits_form;

/* Words of the choices, in the order of the enumerations they stand for. */
extern const char *const ebb_room_back_words[];
extern const char *const ebb_room_model_words[];
extern const char *const ebb_room_units_words[];

/* Does a word fit a key or choice, whose N stand for numbers from 1 to 99? */
bool ebb_room_fits(const char *pattern, const char *word, size_t length);
/* Has it any N? */
bool ebb_room_is_numbered(const char *pattern);

/* "from 1 m to 40 m", "at least 0 kg", or "" where any value goes; into out[0..size). */
const char *ebb_room_range(const ebb_room_rule *rule, char *out, size_t size);

/* What a value may be, in words for messages and documents, e.g. `a list of 3 values, each a length
 * such as "5.2 m", from 1 m to 40 m`. In arena; NULL when out of memory. */
const char *ebb_room_accepts(ebb_arena *arena, const ebb_room_rule *rule);

#endif
