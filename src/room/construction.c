/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Constructions: those of the job, and the presets it uses. */
#include "build.h"

#include <assert.h>
#include <math.h>
#include <string.h>

void ebb_room_build_alpha(const ebb_room_record *record, double alpha[EBB_OCTAVES])
{
    const ebb_room_field *field = ebb_room_get(record, "absorption");
    for (size_t i = 0; i < EBB_OCTAVES; i++)
        alpha[i] = field->good ? field->number[i] : NAN;
}

/* A construction with faults keeps its name, so that surfaces made of it are not told to be made of
 * something unknown on top. */
static void build_construction(ebb_room_builder *builder, const ebb_room_record *record,
                               ebb_construction *construction)
{
    construction->name = ebb_room_keep_text(builder, record->name);
    construction->source = "";
    if (record->form == NULL)
        return;
    const ebb_room_field *source = ebb_room_get(record, "source");
    if (source->good)
        construction->source = ebb_room_keep_text(builder, source->text);
    ebb_room_build_alpha(record, construction->alpha);
    static const char *const ways[] = {"admittance", "layers", NULL};
    const ebb_room_field *losses = ebb_room_get(record, "losses");
    const ebb_room_field *what = ebb_room_one_of(builder, record, ways);
    if (what != NULL &&
        ebb_room_build_assembly(builder, record, what, EBB_ROOM_NONE, &construction->assembly) &&
        construction->assembly.kind == EBB_ASSEMBLY_LAYERS && losses->good)
        construction->assembly.beta0 = losses->number[0];
    if (construction->assembly.kind != EBB_ASSEMBLY_LAYERS)
        ebb_room_refuse_key(builder, record, "losses",
                            "it goes with layers; an admittance is that of the whole");
}

static void read_presets(ebb_room_builder *builder)
{
    const ebb_room_record *record =
        ebb_room_read_file(builder, &ebb_room_presets_form, "data/constructions.yaml",
                           (const char *)ebb_room_presets_text, ebb_room_presets_length);
    if (record == NULL)
        return;
    const ebb_room_field *list = ebb_room_get(record, "constructions");
    builder->presets = list->record;
    builder->n_presets = list->good ? list->n : 0;
}

/* Room is made for all presets, but one comes in only when something is made of it: results and
 * reports list what the job uses. Their arrays must not move later, for indices and pointers into
 * them are handed out while rooms are built. */
void ebb_room_build_constructions(ebb_room_builder *builder, const ebb_room_record *job)
{
    ebb_job *out = builder->job;
    const ebb_room_field *list = ebb_room_get(job, "constructions");
    const size_t n = list->good ? list->n : 0;
    read_presets(builder);
    builder->preset_at = ebb_room_alloc(builder->reader, builder->n_presets, sizeof(size_t));
    out->constructions = EBB_KEEP(builder, ebb_construction, n + builder->n_presets);
    if (builder->reader->status != EBB_OK)
        return;
    for (size_t i = 0; i < builder->n_presets; i++)
        builder->preset_at[i] = EBB_ROOM_NONE;
    out->n_constructions = n;
    for (size_t i = 0; i < n; i++)
        build_construction(builder, &list->record[i], &out->constructions[i]);
}

/* Index of preset p among the constructions of the job, where it comes in when first used. */
static size_t use_preset(ebb_room_builder *builder, size_t p)
{
    ebb_job *job = builder->job;
    if (builder->preset_at[p] == EBB_ROOM_NONE) {
        builder->preset_at[p] = job->n_constructions;
        ebb_construction *construction = &job->constructions[job->n_constructions++];
        build_construction(builder, &builder->presets[p], construction);
        construction->preset = true;
    }
    return builder->preset_at[p];
}

/* Index of a construction by name: the job's own hide presets of the same name. */
static size_t find(ebb_room_builder *builder, const char *name)
{
    const ebb_job *job = builder->job;
    for (size_t i = 0; i < job->n_constructions; i++)
        if (!job->constructions[i].preset && strcmp(job->constructions[i].name, name) == 0)
            return i;
    for (size_t p = 0; p < builder->n_presets; p++)
        if (strcmp(builder->presets[p].name, name) == 0)
            return use_preset(builder, p);
    return EBB_ROOM_NONE;
}

/* All names there are: the job's, then the presets. */
static const char *all_names(ebb_room_builder *builder)
{
    const ebb_job *job = builder->job;
    const char *list = "";
    for (size_t i = 0; i < job->n_constructions && list != NULL; i++)
        if (!job->constructions[i].preset)
            list = ebb_room_format(builder->reader, "%s%s%s", list, *list != '\0' ? ", " : "",
                                   job->constructions[i].name);
    for (size_t p = 0; p < builder->n_presets && list != NULL; p++)
        list = ebb_room_format(builder->reader, "%s%s%s", list, *list != '\0' ? ", " : "",
                               builder->presets[p].name);
    return list;
}

/* A near name is almost always the one that was meant. Without one all names are told, because the
 * user cannot be expected to know the presets by heart. */
static void unknown_name(ebb_room_builder *builder, const ebb_room_field *field)
{
    const ebb_job *job = builder->job;
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, field->text);
    for (size_t i = 0; i < job->n_constructions; i++)
        ebb_room_guess_try(&guess, job->constructions[i].name);
    for (size_t p = 0; p < builder->n_presets; p++)
        ebb_room_guess_try(&guess, builder->presets[p].name);
    const char *list = guess.best == NULL ? all_names(builder) : "";
    if (guess.best != NULL)
        ebb_room_fault(builder->reader, &field->place,
                       "there is no construction \"%s\"; did you mean \"%s\"?", field->text,
                       guess.best);
    else if (list != NULL)
        ebb_room_fault(builder->reader, &field->place,
                       "there is no construction \"%s\"; there are %s", field->text, list);
}

size_t ebb_room_construction(ebb_room_builder *builder, const ebb_room_field *field)
{
    if (!field->good)
        return EBB_ROOM_NONE;
    const size_t index = find(builder, field->text);
    if (index == EBB_ROOM_NONE)
        unknown_name(builder, field);
    return index;
}

/* Found by name like any other, so that a job's own "door" is what its doors are made of. A list of
 * presets without it can only be a slip in data/constructions.yaml. */
size_t ebb_room_preset(ebb_room_builder *builder, const ebb_place *place, const char *name)
{
    const size_t index = find(builder, name);
    if (index == EBB_ROOM_NONE)
        ebb_room_fault(builder->reader, place,
                       "the preset \"%s\" is missing; name a construction here", name);
    return index;
}
