/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include <math.h>

#define PI 3.14159265358979323846

/* The assembly of a construction written in flow style. */
static const ebb_assembly *assembly_of(fixture *f, const char *construction)
{
    char text[4096];
    snprintf(text, sizeof text, HEAD "  x: %s\n" ROOM, construction);
    const ebb_job *job = good_job(f, text);
    assert_string_equal(job->constructions[1].name, "x");
    return &job->constructions[1].assembly;
}

static const ebb_layer *layer_of(fixture *f, const char *layer)
{
    char text[1024];
    snprintf(text, sizeof text, "{layers: [%s], back: rigid}", layer);
    const ebb_assembly *assembly = assembly_of(f, text);
    assert_int_equal(assembly->kind, EBB_ASSEMBLY_LAYERS);
    assert_int_equal(assembly->n_layers, 1);
    return assembly->layers;
}

/* Fields that a test did not look at must be 0. */
static void assert_rest_zero(ebb_layer layer)
{
    const ebb_layer zero = {.kind = layer.kind, .model = layer.model};
    assert_true(layer.thickness == zero.thickness && layer.mass == 0 && layer.modulus == 0);
    assert_true(layer.poisson == 0 && layer.loss == 0 && layer.span == 0);
    assert_true(layer.resistance == 0 && layer.stiffness == 0 && layer.resistivity == 0);
    assert_true(layer.porosity == 0 && layer.tortuosity == 0 && layer.frame_density == 0);
    assert_true(layer.viscous_length == 0 && layer.thermal_length == 0);
}

static void constant_admittance(void **state)
{
    const ebb_assembly *a = assembly_of(*state, "{admittance: 0.02}");
    assert_int_equal(a->kind, EBB_ASSEMBLY_CONSTANT);
    assert_true(creal(a->beta0) == 0.02 && cimag(a->beta0) == 0);
    a = assembly_of(*state, "{admittance: [0.1, -0.4]}");
    assert_true(creal(a->beta0) == 0.1 && cimag(a->beta0) == -0.4);
}

static void mass(void **state)
{
    ebb_layer l = *layer_of(*state, "{mass: 1 lb/ft2}");
    assert_int_equal(l.kind, EBB_LAYER_MASS);
    assert_near(l.mass, 0.45359237 / (0.3048 * 0.3048));
    l.mass = 0;
    assert_rest_zero(l);
}

static void panel_of_a_material(void **state)
{
    ebb_layer l = *layer_of(*state, "{panel: 12.5 mm gypsum}");
    assert_int_equal(l.kind, EBB_LAYER_PANEL);
    assert_near(l.thickness, 0.0125);
    assert_near(l.mass, 9.0); /* 720 kg/m3 */
    l.thickness = l.mass = 0;
    assert_rest_zero(l); /* no span: no bending */
}

static void panel_that_bends(void **state)
{
    ebb_layer l = *layer_of(*state, "{panel: 1/2 in gypsum, span: 600 mm}");
    assert_near(l.thickness, 0.0127);
    assert_near(l.span, 0.6);
    assert_near(l.modulus, 2.5e9);
    assert_near(l.poisson, 0.3);
    assert_near(l.loss, 0.02);
    l = *layer_of(*state, "{panel: 10 mm plywood, span: 0.4 m, density: 500 kg/m3, "
                          "modulus: 7 GPa, poisson: 0.2, loss: 0.05}");
    assert_near(l.mass, 5);
    assert_near(l.modulus, 7e9);
    assert_near(l.poisson, 0.2);
    assert_near(l.loss, 0.05);
    l = *layer_of(*state, "{panel: 10 mm, density: 500 kg/m3, span: 0.4 m, modulus: 7 GPa}");
    assert_near(l.poisson, 0.3);
    assert_near(l.loss, 0.02);
}

static void air_gap(void **state)
{
    ebb_layer l = *layer_of(*state, "{air: 100 mm, loss: 0.01}");
    assert_int_equal(l.kind, EBB_LAYER_AIR);
    assert_near(l.thickness, 0.1);
    assert_near(l.loss, 0.01);
    l.thickness = l.loss = 0;
    assert_rest_zero(l);
}

static void porous_with_defaults(void **state)
{
    ebb_layer l = *layer_of(*state, "{porous: 90 mm, resistivity: 8 kPa.s/m2}");
    assert_int_equal(l.kind, EBB_LAYER_POROUS);
    assert_int_equal(l.model, EBB_POROUS_JCA);
    assert_near(l.thickness, 0.09);
    assert_near(l.resistivity, 8000);
    assert_near(l.porosity, 0.98);
    assert_near(l.tortuosity, 1);
    l.thickness = l.resistivity = l.porosity = l.tortuosity = 0;
    assert_rest_zero(l);
}

static void grains_with_everything(void **state)
{
    const ebb_layer *l = layer_of(
        *state, "{granular: 40 mm, grain: 1.2 mm, uptake: 4.5, density: 480 kg/m3, bed_porosity: "
                "0.38, pore_share: 0.45, pore_radius: 0.4 um, tortuosity: 2.5, sorption: 150 Hz, "
                "resistivity: 12 kPa.s/m2}");
    assert_int_equal(l->kind, EBB_LAYER_GRANULAR);
    assert_near(l->thickness, 0.04);
    assert_near(l->grains.diameter, 1.2e-3);
    assert_near(l->grains.uptake, 4.5);
    assert_near(l->grains.bed_density, 480);
    assert_near(l->grains.bed_porosity, 0.38);
    assert_near(l->grains.pore_share, 0.45);
    assert_near(l->grains.pore_radius, 0.4e-6);
    assert_near(l->grains.tortuosity, 2.5);
    assert_near(l->grains.sorption_hz, 150);
    assert_near(l->resistivity, 12000);
}

static void grains_with_defaults(void **state)
{
    const ebb_layer *l = layer_of(*state, "{granular: 40 mm, grain: 1.2 mm, uptake: 0, density: "
                                          "480 kg/m3}");
    assert_near(l->grains.bed_porosity, 0.4);
    assert_near(l->grains.pore_share, 0.5);
    assert_near(l->grains.pore_radius, 0.5e-6);
    assert_near(l->grains.tortuosity, 3);
    assert_near(l->grains.sorption_hz, 200);
    assert_true(l->resistivity == 0 && l->grains.uptake == 0);
}

static void holes_and_slits(void **state)
{
    const ebb_layer *l =
        layer_of(*state, "{perforated: 4 mm, hole: 8 mm, open: 5 %, mass: 3 kg/m2}");
    assert_int_equal(l->kind, EBB_LAYER_PERFORATED);
    assert_near(l->thickness, 0.004);
    assert_near(l->opening, 0.008);
    assert_near(l->open_share, 0.05);
    assert_near(l->mass, 3);
    l = layer_of(*state, "{perforated: 0.5 mm, hole: 300 um, open: 0.01}");
    assert_near(l->opening, 3e-4);
    assert_true(l->mass == 0); /* held still */
    l = layer_of(*state, "{slits: 18 mm, width: 0.5 mm, open: 0.1 %}");
    assert_int_equal(l->kind, EBB_LAYER_SLITS);
    assert_near(l->thickness, 0.018);
    assert_near(l->opening, 5e-4);
    assert_near(l->open_share, 1e-3);
}

/* What stands beside a name replaces its value; the rest is that of the stock. */
static void wools_and_batches_by_name(void **state)
{
    const ebb_layer *l = layer_of(*state, "{porous: 50 mm, wool: dense-wool}");
    assert_near(l->resistivity, 35000);
    assert_near(l->frame_density, 80);
    l = layer_of(*state, "{porous: 50 mm, wool: dense-wool, porosity: 0.9, model: limp}");
    assert_near(l->resistivity, 35000);
    assert_near(l->porosity, 0.9);
    assert_int_equal(l->model, EBB_POROUS_LIMP);
    l = layer_of(*state, "{granular: 40 mm, batch: fine-dry, uptake: 7}");
    assert_near(l->grains.uptake, 7);
    assert_near(l->grains.diameter, 0.8e-3);
    assert_near(l->grains.pore_radius, 1e-6);
}

static void porous_with_everything(void **state)
{
    const ebb_layer *l =
        layer_of(*state, "{porous: 50 mm, resistivity: 10 kPa.s/m2, porosity: 0.95, tortuosity: "
                         "1.1, viscous_length: 0.1 mm, thermal_length: 0.2 mm, density: 60 kg/m3, "
                         "model: limp}");
    assert_int_equal(l->model, EBB_POROUS_LIMP);
    assert_near(l->porosity, 0.95);
    assert_near(l->tortuosity, 1.1);
    assert_near(l->viscous_length, 1e-4);
    assert_near(l->thermal_length, 2e-4);
    assert_near(l->frame_density, 60);
    l = layer_of(*state, "{porous: 50 mm, resistivity: 10 kPa.s/m2, model: miki}");
    assert_int_equal(l->model, EBB_POROUS_MIKI);
}

static void screen_may_be_free_to_move(void **state)
{
    ebb_layer l = *layer_of(*state, "{screen: 400 Pa.s/m, mass: 0.3 kg/m2}");
    assert_int_equal(l.kind, EBB_LAYER_SCREEN);
    assert_near(l.resistance, 400);
    assert_near(l.mass, 0.3);
    l = *layer_of(*state, "{mass: 0.3 kg/m2, screen: 400 Pa.s/m}"); /* in any order */
    assert_int_equal(l.kind, EBB_LAYER_SCREEN);
    l.resistance = l.mass = 0;
    assert_rest_zero(l);
}

static void lumped_by_resonance_or_stiffness(void **state)
{
    ebb_layer l = *layer_of(*state, "{lumped: {mass: 6 kg/m2, resonance: 45 Hz, resistance: 413 "
                                    "Pa.s/m, loss: 0.02}}");
    assert_int_equal(l.kind, EBB_LAYER_LUMPED);
    assert_near(l.mass, 6);
    assert_near(l.stiffness, 6 * pow(2 * PI * 45, 2));
    assert_near(l.resistance, 413);
    assert_near(l.loss, 0.02);
    l = *layer_of(*state, "{lumped: {mass: 6 kg/m2, stiffness: 4e5 Pa/m}}");
    assert_near(l.stiffness, 4e5);
    l.mass = l.stiffness = 0;
    assert_rest_zero(l);
}

/* A front of 6 kg/m2 at 45 Hz with the resistance of air takes everything at 45 Hz: its spring
 * includes the cavity, so it stands on the rigid back. Half of the peak is
 * (1 + r) rho c / (2 pi m) = 2 x 413 / (2 pi 6) = 22 Hz wide. */
static void a_lumped_front_resonates_as_written(void **state)
{
    fixture *f = *state;
    const ebb_assembly *a = assembly_of(f, "{layers: [{lumped: {mass: 6 kg/m2, resonance: 45 Hz, "
                                           "resistance: 412.6 Pa.s/m}}], back: rigid}");
    assert_true(fabs(ebb_assembly_alpha(a, &f->job->air, 45) - 1) < 1e-3);
    /* |x| = 2 rho c where alpha is a half: m (w - w0^2/w) = 825.2 Pa s/m at 57.26 Hz */
    assert_true(fabs(ebb_assembly_alpha(a, &f->job->air, 57.26) - 0.5) < 2e-3);
}

/* A misspelt parameter is told once; what follows from its absence is not told on top. */
static void a_misspelt_parameter_is_told_once(void **state)
{
    one_fault(*state, HEAD "  x: {layers: [{panel: 10 mm, densty: 700 kg/m3}], back: rigid}\n" ROOM,
              "constructions.x.layers[0].densty", "did you mean \"density\"?");
    one_fault(*state, HEAD "  x: {admitance: 0.1}\n" ROOM, "constructions.x.admitance",
              "did you mean \"admittance\"?");
}

/* Messages of the layers get the place of the assembly they are about, each once. */
static void faults_of_assemblies_have_their_place(void **state)
{
    fixture *f = *state;
    parse_in(f, HEAD "  x: {admittance: -0.1}\n  y: {admittance: [-0.2, 0.1]}\n" ROOM, NULL);
    assert_int_equal(ebb_ctx_messages(f->ctx), 2);
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.key, "constructions.x.admittance");
    assert_string_equal(ebb_ctx_message(f->ctx, 1)->place.key, "constructions.y.admittance");
}

static void backs(void **state)
{
    static const char *const words[] = {"rigid", "outdoors", "room"};
    for (size_t i = 0; i < 3; i++) {
        char text[200];
        snprintf(text, sizeof text, "{layers: [{mass: 5 kg/m2}, {air: 50 mm}], back: %s}",
                 words[i]);
        const ebb_assembly *a = assembly_of(*state, text);
        assert_int_equal(a->back, (int)i); /* the order of ebb_back */
        assert_int_equal(a->n_layers, 2);
        assert_int_equal(a->layers[0].kind, EBB_LAYER_MASS);
        assert_int_equal(a->layers[1].kind, EBB_LAYER_AIR);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(constant_admittance),
        TEST(mass),
        TEST(panel_of_a_material),
        TEST(grains_with_everything),
        TEST(grains_with_defaults),
        TEST(holes_and_slits),
        TEST(wools_and_batches_by_name),
        TEST(panel_that_bends),
        TEST(air_gap),
        TEST(porous_with_defaults),
        TEST(porous_with_everything),
        TEST(screen_may_be_free_to_move),
        TEST(lumped_by_resonance_or_stiffness),
        TEST(a_lumped_front_resonates_as_written),
        TEST(a_misspelt_parameter_is_told_once),
        TEST(faults_of_assemblies_have_their_place),
        TEST(backs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
