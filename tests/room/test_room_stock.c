/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is at hand: the presets, and what a library puts in their place. */
#include "shelf.h"

#include <complex.h>
#include <math.h>

static const ebb_material *material(const ebb_stock *stock, const char *name)
{
    for (size_t i = 0; i < stock->n_materials; i++)
        if (strcmp(stock->material[i].name, name) == 0)
            return &stock->material[i];
    return NULL;
}

static void presets_are_possible(void **state)
{
    const ebb_stock *stock = &good_library(*state, LIBRARY, NULL)->stock;
    assert_true(stock->n_materials >= 10 && stock->n_wools >= 3 && stock->n_strips >= 3);
    for (size_t i = 0; i < stock->n_materials; i++) {
        const ebb_material *m = &stock->material[i];
        assert_true(m->preset && strlen(m->source) > 10);
        assert_string_equal(m->name, m->board.name);
        assert_true(m->board.thickness == 0 && m->board.density > 100);
        assert_true(m->board.modulus >= 1e5 && m->board.modulus <= 1e12);
        assert_true(m->board.poisson >= 0 && m->board.poisson < 0.5 && m->board.loss > 0);
        for (size_t k = 1; k < m->n_sheets; k++)
            assert_true(m->sheet[k].thickness > m->sheet[k - 1].thickness);
    }
    for (size_t i = 0; i < stock->n_strips; i++)
        assert_true(stock->strip[i].modulus > 0 && strlen(stock->strip[i].source) > 10);
    assert_near(material(stock, "gypsum")->board.density * 0.0125, 9);
    assert_int_equal(material(stock, "concrete")->n_sheets, 0);
    assert_near(material(stock, "plywood")->sheet[2].thickness, 0.006);
}

/* Every wool and batch of the presets can be computed and is passive. */
static void presets_can_be_used(void **state)
{
    char text[2048] = LIBRARY "absorbers:\n";
    const ebb_stock *stock = &good_library(*state, LIBRARY, NULL)->stock;
    size_t used = strlen(text), n = 0;
    for (size_t i = 0; i < stock->n_wools; i++, n++)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "  u%zu: {" BOX_SIZE "mass: 9 kg, layers: [{porous: 0.2 m, "
                                 "wool: %s}]}\n",
                                 n, stock->wool[i].name);
    for (size_t i = 0; i < stock->n_batches; i++, n++)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "  u%zu: {" BOX_SIZE "mass: 99 kg, layers: [{granular: 0.1 m, "
                                 "batch: %s}]}\n",
                                 n, stock->batch[i].name);
    const ebb_library *library = good_library(*state, text, NULL);
    assert_int_equal(library->n_units, n);
    for (size_t i = 0; i < n; i++) {
        const double alpha = ebb_assembly_alpha(&library->unit[i].assembly, &library->air, 50);
        assert_true(alpha > 0.005 && alpha <= 1);
    }
}

/* Our own assumptions; what they give is checked where grains are computed. */
static void batches_hold_their_values(void **state)
{
    const ebb_stock *stock = &good_library(*state, LIBRARY, NULL)->stock;
    assert_int_equal(stock->n_batches, 3);
    const ebb_batch *b = &stock->batch[0];
    assert_string_equal(b->name, "nominal");
    assert_false(b->measured);
    assert_int_equal(b->layer.kind, EBB_LAYER_GRANULAR);
    assert_near(b->layer.grains.diameter, 1.5e-3);
    assert_near(b->layer.grains.uptake, 5);
    assert_near(b->layer.grains.bed_porosity, 0.4);
    assert_near(b->layer.grains.pore_share, 0.5);
    assert_near(b->layer.grains.pore_radius, 0.5e-6);
    assert_near(b->layer.grains.tortuosity, 3);
    assert_near(b->layer.grains.sorption_hz, 200);
    assert_near(b->layer.grains.bed_density, 500);
    assert_true(b->layer.resistivity == 0 && b->layer.thickness == 0);
    assert_near(stock->batch[1].layer.grains.uptake, 8);
    assert_near(stock->batch[2].layer.grains.diameter, 3e-3);
}

static void own_things_come_first_and_hide_presets(void **state)
{
    const ebb_stock *plain = &good_library(*state, LIBRARY, NULL)->stock;
    const size_t n = plain->n_materials, wools = plain->n_wools;
    const ebb_stock *stock =
        &good_library(*state,
                      LIBRARY "materials:\n"
                              "  birch: {density: 700 kg/m3, modulus: 9 GPa}\n"
                              "  plywood: {density: 500 kg/m3, modulus: 5 GPa, loss: 0.1,\n"
                              "    thicknesses: [3 mm, 6 mm], prices: [7, 11.5], source: yard}\n"
                              "wools: {felt: {resistivity: 9 kPa.s/m2, density: 30 kg/m3,\n"
                              "  model: limp, price: 80}}\n"
                              "grains: {bag-3: {grain: 1 mm, uptake: 4, density: 480 kg/m3,\n"
                              "  measured: yes, resistivity: 15 kPa.s/m2}}\n"
                              "strips: {cord: {width: 5 mm, thickness: 8 mm, modulus: 1 MPa,\n"
                              "  works: pressed}}\n",
                      NULL)
             ->stock;
    assert_int_equal(stock->n_materials, n + 1);
    assert_string_equal(stock->material[0].name, "birch");
    assert_near(stock->material[0].board.loss, 0.02);
    const ebb_material *ply = material(stock, "plywood");
    assert_ptr_equal(ply, &stock->material[1]);
    assert_false(ply->preset);
    assert_near(ply->board.density, 500);
    assert_int_equal(ply->n_sheets, 2);
    assert_near(ply->sheet[1].price, 11.5);
    assert_string_equal(ply->source, "yard");
    assert_int_equal(stock->n_wools, wools + 1);
    assert_int_equal(stock->wool[0].layer.model, EBB_POROUS_LIMP);
    assert_near(stock->wool[0].layer.porosity, 0.98);
    assert_near(stock->wool[0].price, 80);
    assert_true(stock->batch[0].measured);
    assert_near(stock->batch[0].layer.resistivity, 15000);
    assert_near(stock->batch[0].layer.grains.tortuosity, 3);
    assert_true(stock->strip[0].pressed);
    assert_near(stock->strip[0].loss, 0.1);
}

static void units_are_made_of_the_stock(void **state)
{
    const ebb_library *library =
        good_library(*state,
                     LIBRARY "materials: {plywood: {density: 500 kg/m3, modulus: 5 GPa}}\n"
                             "grains: {bag: {grain: 1 mm, uptake: 4, density: 480 kg/m3,\n"
                             "  measured: yes}}\n"
                             "absorbers:\n"
                             "  box: {" BOX_SIZE "mass: 20 kg, layers: [{panel: 6 mm plywood},\n"
                             "    {porous: 50 mm, wool: soft-wool, density: 30 kg/m3},\n"
                             "    {granular: 50 mm, batch: bag, grain: 2 mm},\n"
                             "    {granular: 9 mm, batch: bag}, {air: 50 mm}]}\n",
                     NULL);
    const ebb_unit *u = library->unit;
    const ebb_layer *l = u->assembly.layers;
    assert_near(l[0].mass, 3);
    assert_near(l[1].resistivity, 5000);
    assert_near(l[1].frame_density, 30);
    assert_near(l[2].grains.uptake, 4);
    assert_near(l[2].grains.diameter, 2e-3);
    assert_int_equal(u->n_origins, 4);
    assert_string_equal(ebb_unit_origin(u, &l[0])->name, "plywood");
    assert_string_equal(ebb_unit_origin(u, &l[1])->name, "soft-wool");
    assert_string_equal(ebb_unit_origin(u, &l[2])->name, "bag");
    assert_true(ebb_unit_origin(u, &l[3])->measured && !ebb_unit_origin(u, &l[1])->measured);
    assert_false(ebb_unit_origin(u, &l[2])->measured); /* no longer what was tested */
    assert_null(ebb_unit_origin(u, &l[4]));
}

static void what_does_not_fit_is_told(void **state)
{
    static const struct {
        const char *text, *key, *part;
    } cases[] = {
        {"materials: {x: {density: 700 kg/m3, modulus: 9 GPa, thicknesses: [6 mm, 3 mm]}}\n",
         "materials.x.thicknesses", "must rise"},
        {"materials: {x: {density: 700 kg/m3, modulus: 9 GPa, thicknesses: [6 mm], "
         "prices: [1, 2]}}\n",
         "materials.x.prices", "2 prices for 1 thicknesses"},
        {"materials: {x: {density: 700 kg/m3, modulus: 9 GPa, prices: [1]}}\n",
         "materials.x.prices", "need thicknesses"},
        {"wools: {x: {resistivity: 9 kPa.s/m2, model: limp}}\n", "wools.x.model", "needs density"},
        {"wools: {x: {resistivity: 9 kPa.s/m2, model: miki, porosity: 0.9}}\n", "wools.x.porosity",
         "resistivity alone"},
        {"strips: {x: {width: 20 mm, thickness: 2 mm, modulus: 2 MPa}}\n", "strips.x.works",
         "the key is missing"},
        {"grains: {x: {grain: 1 mm, density: 500 kg/m3}}\n", "grains.x.uptake",
         "the key is missing"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[512];
        snprintf(text, sizeof text, LIBRARY "%s", cases[i].text);
        one_library_fault(*state, text, cases[i].key, cases[i].part);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHELF_TEST(presets_are_possible),        SHELF_TEST(presets_can_be_used),
        SHELF_TEST(batches_hold_their_values),   SHELF_TEST(own_things_come_first_and_hide_presets),
        SHELF_TEST(units_are_made_of_the_stock), SHELF_TEST(what_does_not_fit_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
