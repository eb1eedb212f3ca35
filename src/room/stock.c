/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is at hand: boards, wools, grains and strips of a library, and the presets. */
#include "build.h"

#include <string.h>

/* Text of a key, "" when it is not there. */
static const char *keep_source(ebb_room_builder *builder, const ebb_room_record *record)
{
    const ebb_room_field *source = ebb_room_get(record, "source");
    return source->good ? ebb_room_keep_text(builder, source->text) : "";
}

/* ---- the single things ----------------------------------------------------------------------- */

/* The thicknesses a designer may choose from; it takes them in order. */
static void build_sheets(ebb_room_builder *builder, const ebb_room_record *record,
                         ebb_material *material)
{
    const ebb_room_field *thick = ebb_room_get(record, "thicknesses");
    const ebb_room_field *price = ebb_room_get(record, "prices");
    if (price->good && ebb_room_is_absent(record, "thicknesses"))
        ebb_room_refuse_key(builder, record, "prices", "prices need thicknesses beside them");
    if (thick->good && price->good && price->n != thick->n)
        ebb_room_fault(builder->reader, &price->place, "%zu prices for %zu thicknesses", price->n,
                       thick->n);
    if (!thick->good || price->given != price->good || (price->good && price->n != thick->n))
        return;
    ebb_sheet *sheet = EBB_KEEP(builder, ebb_sheet, thick->n);
    for (size_t i = 0; i < thick->n && sheet != NULL; i++) {
        sheet[i] = (ebb_sheet){thick->number[i], price->good ? price->number[i] : 0};
        if (i > 0 && !(sheet[i].thickness > sheet[i - 1].thickness))
            ebb_room_fault(builder->reader, &thick->place,
                           "thicknesses must rise: %g mm does not come after %g mm",
                           1000 * sheet[i].thickness, 1000 * sheet[i - 1].thickness);
    }
    material->n_sheets = sheet != NULL ? thick->n : 0;
    material->sheet = sheet;
}

static void build_material(ebb_room_builder *builder, const ebb_room_record *record,
                           const char *name, bool preset, void *out)
{
    ebb_material *material = out;
    material->name = material->board.name = name;
    material->preset = preset;
    material->source = "";
    if (record->form == NULL)
        return;
    material->board.density = ebb_room_number(record, "density", 1);
    material->board.modulus = ebb_room_number(record, "modulus", 1e5);
    material->board.poisson = ebb_room_number(record, "poisson", 0.3);
    material->board.loss = ebb_room_number(record, "loss", 0.02);
    material->source = keep_source(builder, record);
    build_sheets(builder, record, material);
}

static void build_wool(ebb_room_builder *builder, const ebb_room_record *record, const char *name,
                       bool preset, void *out)
{
    ebb_wool *wool = out;
    wool->name = name;
    wool->preset = preset;
    wool->source = "";
    wool->layer = ebb_room_plain_wool;
    if (record->form == NULL)
        return;
    wool->source = keep_source(builder, record);
    wool->price = ebb_room_number(record, "price", 0);
    ebb_room_build_porous(builder, record, &wool->layer);
}

static void build_batch(ebb_room_builder *builder, const ebb_room_record *record, const char *name,
                        bool preset, void *out)
{
    ebb_batch *batch = out;
    batch->name = name;
    batch->preset = preset;
    batch->source = "";
    batch->layer = ebb_room_plain_grains;
    if (record->form == NULL)
        return;
    batch->source = keep_source(builder, record);
    batch->price = ebb_room_number(record, "price", 0);
    batch->measured = ebb_room_word(record, "measured", 0) == 1;
    ebb_room_build_grains(record, &batch->layer);
}

static void build_strip(ebb_room_builder *builder, const ebb_room_record *record, const char *name,
                        bool preset, void *out)
{
    ebb_strip *strip = out;
    strip->name = name;
    strip->preset = preset;
    strip->source = "";
    if (record->form == NULL)
        return;
    strip->source = keep_source(builder, record);
    strip->price = ebb_room_number(record, "price", 0);
    strip->width = ebb_room_number(record, "width", 1);
    strip->thickness = ebb_room_number(record, "thickness", 1);
    strip->modulus = ebb_room_number(record, "modulus", 1);
    strip->loss = ebb_room_number(record, "loss", 0.1);
    strip->pressed = ebb_room_word(record, "works", 0) == 1;
}

/* ---- the lists ------------------------------------------------------------------------------- */

/* One kind of thing. */
typedef struct kind {
    const char *key;
    size_t size;
    void (*build)(ebb_room_builder *builder, const ebb_room_record *record, const char *name,
                  bool preset, void *out);
} kind;

static const kind kinds[] = {
    {"materials", sizeof(ebb_material), build_material},
    {"wools", sizeof(ebb_wool), build_wool},
    {"grains", sizeof(ebb_batch), build_batch},
    {"strips", sizeof(ebb_strip), build_strip},
};

static bool has_name(const ebb_room_field *list, const char *name)
{
    for (size_t i = 0; list != NULL && list->good && i < list->n; i++)
        if (strcmp(list->record[i].name, name) == 0)
            return true;
    return false;
}

/* A thing with faults keeps its name, so that those made of it are not told to be made of something
 * unknown on top. */
static size_t build_list(ebb_room_builder *builder, const kind *k, const ebb_room_field *own,
                         const ebb_room_field *presets, void **out)
{
    const size_t n_own = own != NULL && own->good ? own->n : 0;
    const size_t n_presets = presets != NULL && presets->good ? presets->n : 0;
    char *thing = ebb_room_keep(builder, n_own + n_presets, k->size);
    size_t n = 0;
    *out = thing;
    for (size_t i = 0; i < n_own + n_presets && thing != NULL; i++) {
        const bool preset = i >= n_own;
        const ebb_room_record *record = preset ? &presets->record[i - n_own] : &own->record[i];
        if (preset && has_name(own, record->name))
            continue;
        k->build(builder, record, ebb_room_keep_text(builder, record->name), preset,
                 thing + n++ * k->size);
    }
    return n;
}

void ebb_room_build_stock(ebb_room_builder *builder, const ebb_room_record *library)
{
    ebb_stock *stock = &builder->stock;
    const ebb_room_record *own =
        ebb_room_read_file(builder, &ebb_room_stock_form, "data/materials.yaml",
                           (const char *)ebb_room_stock_text, ebb_room_stock_length);
    void *list[4] = {NULL};
    size_t n[4] = {0};
    for (size_t i = 0; i < 4 && builder->reader->status == EBB_OK; i++)
        n[i] = build_list(builder, &kinds[i],
                          library != NULL ? ebb_room_get(library, kinds[i].key) : NULL,
                          own != NULL ? ebb_room_get(own, kinds[i].key) : NULL, &list[i]);
    *stock = (ebb_stock){n[0], n[1], n[2], n[3], list[0], list[1], list[2], list[3]};
}

/* ---- finding --------------------------------------------------------------------------------- */

#define NAMES_OF(what, array, count)                                                               \
    &(const ebb_room_names)                                                                        \
    {                                                                                              \
        what, array, count, sizeof *(array)                                                        \
    }

const ebb_wool *ebb_room_wool(ebb_room_builder *builder, const ebb_room_field *field)
{
    return ebb_room_find(builder, field,
                         NAMES_OF("wool", builder->stock.wool, builder->stock.n_wools));
}

const ebb_batch *ebb_room_batch(ebb_room_builder *builder, const ebb_room_field *field)
{
    return ebb_room_find(
        builder, field,
        NAMES_OF("batch of grains", builder->stock.batch, builder->stock.n_batches));
}

const ebb_strip *ebb_room_strip(ebb_room_builder *builder, const ebb_room_field *field)
{
    return ebb_room_find(builder, field,
                         NAMES_OF("strip", builder->stock.strip, builder->stock.n_strips));
}

const ebb_material *ebb_room_material(ebb_room_builder *builder, const ebb_room_field *field)
{
    if (!field->good || field->text[0] == '\0')
        return NULL;
    return ebb_room_find(builder, field,
                         NAMES_OF("material", builder->stock.material, builder->stock.n_materials));
}

/* ---- choosing -------------------------------------------------------------------------------- */

/* The things named by a list, in its order; without a list all there are. */
static size_t choose(ebb_room_builder *builder, const ebb_room_field *list,
                     const ebb_room_names *names, const void **chosen)
{
    *chosen = names->list;
    if (!list->good)
        return names->n;
    char *out = ebb_room_keep(builder, list->n, names->size);
    size_t n = 0;
    *chosen = out;
    for (size_t i = 0; i < list->n && out != NULL; i++) {
        const void *found = ebb_room_find(builder, &list->item[i], names);
        if (found != NULL)
            memcpy(out + n++ * names->size, found, names->size);
    }
    return n;
}

void ebb_room_build_use(ebb_room_builder *builder, const ebb_room_record *use, ebb_stock *stock)
{
    const ebb_stock *all = &builder->stock;
    const void *list[4];
    size_t n[4];
    *stock = *all;
    if (use == NULL)
        return;
    n[0] = choose(builder, ebb_room_get(use, "materials"),
                  NAMES_OF("material", all->material, all->n_materials), &list[0]);
    n[1] = choose(builder, ebb_room_get(use, "wools"), NAMES_OF("wool", all->wool, all->n_wools),
                  &list[1]);
    n[2] = choose(builder, ebb_room_get(use, "grains"),
                  NAMES_OF("batch of grains", all->batch, all->n_batches), &list[2]);
    n[3] = choose(builder, ebb_room_get(use, "strips"),
                  NAMES_OF("strip", all->strip, all->n_strips), &list[3]);
    *stock = (ebb_stock){n[0], n[1], n[2], n[3], list[0], list[1], list[2], list[3]};
}
