/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Are the fields of an assembly possible, and where do its formulas hold?
 */
#include "chain.h"
#include "network.h"

#include <stddef.h>

static const char *const kind_names[] = {
    [EBB_LAYER_MASS] = "mass",         [EBB_LAYER_PANEL] = "panel",
    [EBB_LAYER_AIR] = "air",           [EBB_LAYER_POROUS] = "porous",
    [EBB_LAYER_SCREEN] = "screen",     [EBB_LAYER_LUMPED] = "lumped",
    [EBB_LAYER_GRANULAR] = "granular", [EBB_LAYER_PERFORATED] = "perforated",
    [EBB_LAYER_SLITS] = "slits",       [EBB_LAYER_FRONT] = "front",
};
#define KINDS (sizeof kind_names / sizeof kind_names[0])

/* When a rule applies. */
typedef enum when {
    ALWAYS,
    UNLESS_ZERO, /* 0 has a meaning of its own */
    WITH_SPAN,   /* only for a panel that bends */
    NOT_MIKI,    /* Miki's formula needs the resistivity alone */
    IF_LIMP,
    IF_PORES, /* only for grains that let gas in */
    IF_UPTAKE /* and take it up */
} when;

/* A field of a kind and the range its value must lie in, both ends included. */
typedef struct field_rule {
    ebb_layer_kind kind;
    when when;
    size_t offset;
    const char *field;
    const char *unit;
    double low, high;
} field_rule;

#define FIELD(name) offsetof(ebb_layer, name), #name

/* The ranges are wide: they catch slips of unit and sign, not unusual designs. */
static const field_rule rules[] = {
    {EBB_LAYER_MASS, ALWAYS, FIELD(mass), "kg/m2", 1e-3, 5000},
    {EBB_LAYER_PANEL, ALWAYS, FIELD(mass), "kg/m2", 1e-3, 5000},
    {EBB_LAYER_PANEL, ALWAYS, FIELD(loss), "", 0, 1},
    {EBB_LAYER_PANEL, UNLESS_ZERO, FIELD(span), "m", 0.01, 30},
    {EBB_LAYER_PANEL, WITH_SPAN, FIELD(thickness), "m", 1e-4, 2},
    {EBB_LAYER_PANEL, WITH_SPAN, FIELD(modulus), "Pa", 1e5, 1e12},
    {EBB_LAYER_PANEL, WITH_SPAN, FIELD(poisson), "", 0, 0.499},
    {EBB_LAYER_AIR, ALWAYS, FIELD(thickness), "m", 1e-5, 20},
    {EBB_LAYER_AIR, ALWAYS, FIELD(loss), "", 0, 1},
    {EBB_LAYER_POROUS, ALWAYS, FIELD(thickness), "m", 1e-5, 20},
    {EBB_LAYER_POROUS, ALWAYS, FIELD(resistivity), "Pa.s/m2", 10, 1e8},
    {EBB_LAYER_POROUS, NOT_MIKI, FIELD(porosity), "", 0.01, 1},
    {EBB_LAYER_POROUS, NOT_MIKI, FIELD(tortuosity), "", 1, 20},
    {EBB_LAYER_POROUS, UNLESS_ZERO, FIELD(viscous_length), "m", 1e-7, 0.1},
    {EBB_LAYER_POROUS, UNLESS_ZERO, FIELD(thermal_length), "m", 1e-7, 0.1},
    {EBB_LAYER_POROUS, UNLESS_ZERO, FIELD(frame_density), "kg/m3", 1, 3000},
    {EBB_LAYER_POROUS, IF_LIMP, FIELD(frame_density), "kg/m3", 1, 3000},
    {EBB_LAYER_SCREEN, ALWAYS, FIELD(resistance), "Pa.s/m", 1e-3, 1e7},
    {EBB_LAYER_SCREEN, UNLESS_ZERO, FIELD(mass), "kg/m2", 1e-4, 5000},
    {EBB_LAYER_LUMPED, ALWAYS, FIELD(mass), "kg/m2", 1e-3, 5000},
    {EBB_LAYER_LUMPED, ALWAYS, FIELD(stiffness), "Pa/m", 0, 1e10},
    {EBB_LAYER_LUMPED, ALWAYS, FIELD(resistance), "Pa.s/m", 0, 1e7},
    {EBB_LAYER_LUMPED, ALWAYS, FIELD(loss), "", 0, 2},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(thickness), "m", 1e-5, 20},
    {EBB_LAYER_GRANULAR, UNLESS_ZERO, FIELD(resistivity), "Pa.s/m2", 10, 1e8},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(grains.diameter), "m", 1e-5, 0.05},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(grains.bed_porosity), "", 0.05, 0.95},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(grains.pore_share), "", 0, 0.95},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(grains.uptake), "", 0, 100},
    {EBB_LAYER_GRANULAR, IF_PORES, FIELD(grains.pore_radius), "m", 1e-9, 1e-3},
    {EBB_LAYER_GRANULAR, IF_PORES, FIELD(grains.tortuosity), "", 1, 20},
    {EBB_LAYER_GRANULAR, IF_UPTAKE, FIELD(grains.sorption_hz), "Hz", 1e-3, 1e5},
    {EBB_LAYER_GRANULAR, ALWAYS, FIELD(grains.bed_density), "kg/m3", 1, 5000},
    {EBB_LAYER_PERFORATED, ALWAYS, FIELD(thickness), "m", 1e-6, 0.5},
    {EBB_LAYER_PERFORATED, ALWAYS, FIELD(opening), "m", 1e-6, 0.2},
    {EBB_LAYER_PERFORATED, ALWAYS, FIELD(open_share), "", 1e-5, 0.9},
    {EBB_LAYER_PERFORATED, UNLESS_ZERO, FIELD(mass), "kg/m2", 1e-4, 5000},
    {EBB_LAYER_SLITS, ALWAYS, FIELD(thickness), "m", 1e-6, 0.5},
    {EBB_LAYER_SLITS, ALWAYS, FIELD(opening), "m", 1e-6, 0.2},
    {EBB_LAYER_SLITS, ALWAYS, FIELD(open_share), "", 1e-5, 0.99},
};

/* Fields that a kind, a model or a limp panel does not use may hold anything. */
static bool applies(const field_rule *rule, const ebb_layer *layer, double value)
{
    if (rule->kind != layer->kind)
        return false;
    switch (rule->when) {
    case UNLESS_ZERO:
        return value != 0;
    case WITH_SPAN:
        return layer->span != 0;
    case NOT_MIKI:
        return layer->model != EBB_POROUS_MIKI;
    case IF_LIMP:
        return layer->model == EBB_POROUS_LIMP;
    case IF_PORES:
        return layer->grains.pore_share != 0;
    case IF_UPTAKE:
        return layer->grains.pore_share != 0 && layer->grains.uptake != 0;
    case ALWAYS:
        break;
    }
    return true;
}

/* The first bad field of a layer is reported; the others often follow from the same slip. */
ebb_status ebb_layers_check(ebb_ctx *ctx, const ebb_layer *layer, const char *where, size_t number)
{
    if ((size_t)layer->kind >= KINDS)
        return ebb_fail(ctx, EBB_E_RANGE, "%slayer %zu: unknown kind %d", where, number,
                        (int)layer->kind);
    if (layer->kind == EBB_LAYER_FRONT && !layer->plate)
        return ebb_fail(ctx, EBB_E_RANGE, "%slayer %zu (front): its plate is missing", where,
                        number);
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        const field_rule *rule = &rules[i];
        double value;
        memcpy(&value, (const char *)layer + rule->offset, sizeof value);
        /* written so that NaN fails */
        if (applies(rule, layer, value) && !(value >= rule->low && value <= rule->high))
            return ebb_fail(ctx, EBB_E_RANGE,
                            "%slayer %zu (%s): %s is %g, must lie between %g and %g%s%s", where,
                            number, kind_names[layer->kind], rule->field, value, rule->low,
                            rule->high, *rule->unit ? " " : "", rule->unit);
    }
    return EBB_OK;
}

/* Interpolation needs rising frequencies, passivity a resistance that is not negative, and the
 * admittance an impedance that is not 0. */
static ebb_status check_table(ebb_ctx *ctx, const ebb_assembly *assembly)
{
    if (assembly->n_table == 0 || !assembly->table_hz || !assembly->table_z)
        return ebb_fail(ctx, EBB_E_RANGE, "the impedance table is empty");
    for (size_t i = 0; i < assembly->n_table; i++) {
        const double hz = assembly->table_hz[i], low = i ? assembly->table_hz[i - 1] : 0;
        const double re = creal(assembly->table_z[i]), im = cimag(assembly->table_z[i]);
        if (!(hz > low && hz < 1e6))
            return ebb_fail(
                ctx, EBB_E_RANGE,
                "row %zu of the impedance table: frequencies must rise, %g Hz follows %g Hz", i + 1,
                hz, low);
        if (!(re >= 0 && isfinite(re) && isfinite(im) && (re > 0 || im != 0)))
            return ebb_fail(
                ctx, EBB_E_RANGE,
                "row %zu of the impedance table (%g Hz): impedance %g %+gj must be finite, "
                "not 0, and its real part not negative",
                i + 1, hz, re, im);
    }
    return EBB_OK;
}

static ebb_status check_constant(ebb_ctx *ctx, double _Complex beta)
{
    if (!(creal(beta) >= 0 && isfinite(creal(beta)) && isfinite(cimag(beta))))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "admittance %g %+gj must be finite and its real part not negative",
                        creal(beta), cimag(beta));
    return EBB_OK;
}

static ebb_status check_cabinet(ebb_ctx *ctx, const ebb_cabinet *cabinet)
{
    if (!cabinet)
        return ebb_fail(ctx, EBB_E_RANGE, "the box is missing");
    const ebb_status status = ebb_cabinet_check(ctx, cabinet);
    if (status == EBB_OK && !ebb_layers_prepared(cabinet))
        return ebb_fail(ctx, EBB_E_RANGE, "the box has not been prepared: plates are missing");
    return status;
}

ebb_status ebb_assembly_check(ebb_ctx *ctx, const ebb_assembly *assembly)
{
    switch (assembly->kind) {
    case EBB_ASSEMBLY_CONSTANT:
        return check_constant(ctx, assembly->beta0);
    case EBB_ASSEMBLY_TABLE:
        return check_table(ctx, assembly);
    case EBB_ASSEMBLY_CABINET:
        return check_cabinet(ctx, assembly->cabinet);
    case EBB_ASSEMBLY_LAYERS:
        break;
    default:
        return ebb_fail(ctx, EBB_E_RANGE, "unknown kind of assembly %d", (int)assembly->kind);
    }
    if (assembly->back > EBB_BACK_ROOM)
        return ebb_fail(ctx, EBB_E_RANGE, "unknown back %d", (int)assembly->back);
    if (assembly->n_layers > 0 && !assembly->layers)
        return ebb_fail(ctx, EBB_E_RANGE, "the assembly has no layers");
    /* more would be a mistake, and the common factor of the chain could overflow */
    if (assembly->n_layers > 32)
        return ebb_fail(ctx, EBB_E_RANGE, "the assembly has %zu layers, at most 32 are possible",
                        assembly->n_layers);
    for (size_t i = 0; i < assembly->n_layers; i++) {
        const ebb_status status = ebb_layers_check(ctx, &assembly->layers[i], "", i + 1);
        if (status != EBB_OK)
            return status;
    }
    return EBB_OK;
}

/* Narrows the range; the last formula that narrowed either end is named. */
static void narrow(double from, double to, const char *formula, double *low, double *high,
                   const char **why)
{
    if (from > *low) {
        *low = from;
        *why = formula;
    }
    if (to < *high) {
        *high = to;
        *why = formula;
    }
}

/* Frequency at which the free bending wave is six thicknesses long, below which thin-plate theory
 * holds (common practice, no source). */
static double thin_plate_limit(const ebb_layer *layer)
{
    const double h = layer->thickness, pi = 3.14159265358979323846;
    const double bending =
        layer->modulus * h * h * h / (12 * (1 - layer->poisson * layer->poisson));
    return 2 * pi / (36 * h * h) * sqrt(bending / layer->mass);
}

/* Holes and slits are counted as evenly spread, which they are while they lie closer together than
 * a quarter wavelength (common practice, no source). */
static double spread_limit(const ebb_layer *layer)
{
    const double pi = 3.14159265358979323846, speed = 343;
    const double pitch = layer->kind == EBB_LAYER_SLITS
                             ? layer->opening / layer->open_share
                             : layer->opening * sqrt(0.25 * pi / layer->open_share);
    return 0.25 * speed / pitch;
}

/* Layers in an assembly or inside a box. */
static void range_of_layers(size_t n, const ebb_layer *layers, double *low, double *high,
                            const char **why)
{
    for (size_t i = 0; i < n; i++) {
        const ebb_layer *layer = &layers[i];
        if (layer->kind == EBB_LAYER_POROUS && layer->model == EBB_POROUS_MIKI)
            narrow(0.01 * layer->resistivity, layer->resistivity,
                   "Miki's formula for porous layers, 0.01 < f/resistivity < 1", low, high, why);
        if (layer->kind == EBB_LAYER_PANEL && layer->span > 0)
            narrow(0, thin_plate_limit(layer), "bending of a thin board", low, high, why);
        if (layer->kind == EBB_LAYER_PERFORATED || layer->kind == EBB_LAYER_SLITS)
            narrow(0, spread_limit(layer), "openings closer together than a quarter wavelength",
                   low, high, why);
    }
}

static void range_of_cabinet(const ebb_cabinet *cabinet, double *low, double *high,
                             const char **why)
{
    const double speed = 343;
    for (size_t i = 0; i < cabinet->n_cells; i++) {
        const ebb_cell *cell = &cabinet->cell[i];
        double side[2];
        ebb_layers_shaft(cabinet, i, side);
        /* the first wave across that an even front can drive */
        narrow(0, speed / fmax(side[0], side[1]), "a box less than a wavelength wide and high", low,
               high, why);
        range_of_layers(cell->n_between, cell->between, low, high, why);
        range_of_layers(cell->n_fill, cell->fill, low, high, why);
    }
}

void ebb_assembly_range(const ebb_assembly *assembly, double *low, double *high, const char **why)
{
    *low = 0;
    *high = INFINITY;
    *why = NULL;
    if (assembly->kind == EBB_ASSEMBLY_TABLE)
        narrow(assembly->table_hz[0], assembly->table_hz[assembly->n_table - 1],
               "the ends of the impedance table", low, high, why);
    if (assembly->kind == EBB_ASSEMBLY_CABINET)
        range_of_cabinet(assembly->cabinet, low, high, why);
    if (assembly->kind == EBB_ASSEMBLY_LAYERS)
        range_of_layers(assembly->n_layers, assembly->layers, low, high, why);
}
