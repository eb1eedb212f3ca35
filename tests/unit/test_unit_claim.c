/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels judged: claim.c, best.c, fill.c. */
#include "boxes.h"

static const ebb_figure BOASTFUL[] = {{30, 0.9}, {40, 0.95}, {50, 0.95}, {63, 0.95}, {80, 0.9}};
static const ebb_figure SOBER[] = {{30, 0.25}, {40, 0.55}, {50, 0.85}, {63, 0.60}};
static const ebb_figure LOUD[] = {{40, 0.80}, {50, 1.05}, {63, 1.00}};

static ebb_claim a_claim(double depth, ebb_figure_kind kind, size_t n, const ebb_figure *figure)
{
    return (ebb_claim){.name = "label",
                       .face = {0.6, 1.2},
                       .depth = depth,
                       .mass = NAN,
                       .front_mass = NAN,
                       .front = true,
                       .fill = EBB_FILL_WOOL,
                       .kind = kind,
                       .n = n,
                       .figure = figure};
}

static const ebb_claim_check *judged(bench *b, const ebb_claim *claim)
{
    ebb_claim_check *check = NULL;
    assert_int_equal(ebb_claim_judge(b->ctx, b->arena, claim, &b->air, EBB_UNITS_METRIC, &check),
                     EBB_OK);
    assert_non_null(check);
    for (size_t i = 0; i < check->n; i++)
        assert_true(strlen(check->figure[i].why) > 0);
    return check;
}

static void test_too_much_from_too_little_depth(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_claim claim = a_claim(0.1, EBB_FIGURE_NORMAL, 5, BOASTFUL);
    const ebb_claim_check *c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_IMPOSSIBLE);
    assert_int_equal(c->figure[1].word, EBB_CLAIM_IMPOSSIBLE);
    for (size_t i = 0; i < c->n; i++)
        assert_int_not_equal(c->figure[i].word, EBB_CLAIM_POSSIBLE);
    /* The least depth is that of the bound, with wool gamma times less than with air. */
    double hz[5], alpha[5];
    for (int i = 0; i < 5; i++) {
        hz[i] = BOASTFUL[i].hz;
        alpha[i] = BOASTFUL[i].value;
    }
    near(c->needed_air, ebb_depth_needed(&b.air, 5, hz, alpha, 1), 1e-9);
    near(c->needed_air / c->needed, b.air.gamma, 1e-6);
    assert_true(c->needed > 0.1);
    /* With depth enough nothing is forbidden any more. */
    const ebb_claim deep = a_claim(1.0, EBB_FIGURE_NORMAL, 5, BOASTFUL);
    c = judged(&b, &deep);
    for (size_t i = 0; i < c->n; i++)
        assert_int_not_equal(c->figure[i].word, EBB_CLAIM_IMPOSSIBLE);
    bench_close(&b);
}

static void test_a_sober_label_is_possible(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_claim claim = a_claim(0.3, EBB_FIGURE_NORMAL, 4, SOBER);
    claim.front_mass = 4.1;
    claim.mass = 41;
    const ebb_claim_check *c = judged(&b, &claim);
    for (size_t i = 0; i < c->n; i++) {
        assert_int_equal(c->figure[i].word, EBB_CLAIM_POSSIBLE);
        assert_true(c->figure[i].reached >= c->figure[i].value - 0.02);
        near(c->figure[i].normal, c->figure[i].reached, 1e-12);
    }
    /* The box keeps to what the label says of the fronts. */
    const ebb_box *box = &c->box;
    const double mass = box->n_fronts == 1 ? box->mass[0]
                        : box->behind      ? box->mass[0] + box->mass[1]
                                      : box->share * box->mass[0] + (1 - box->share) * box->mass[1];
    near(mass, 4.1, 0.01);
    bench_close(&b);
}

/* Impedance of a front of a box on its soft mount, as a layer. */
static ebb_layer front_layer(const ebb_box *box, int k)
{
    return (ebb_layer){.kind = EBB_LAYER_LUMPED,
                       .mass = box->mass[k],
                       .stiffness = box->mass[k] * pow(6.283185307179586 * 5, 2),
                       .resistance = box->resistance[k]};
}

/* What the layers module makes of a box found: a stack for one front and for two behind each other,
 * two stacks for two beside each other. */
static double alpha_of(const bench *b, const ebb_box *box, double depth, double hz)
{
    const double gap = box->behind ? box->gap * depth : 0;
    ebb_layer fill = wool(depth - gap, box->resistivity);
    if (!(box->resistivity > 0))
        fill = (ebb_layer){.kind = EBB_LAYER_AIR, .thickness = depth - gap};
    fill.frame_density = box->frame;
    fill.model = box->frame > 0 ? EBB_POROUS_LIMP : EBB_POROUS_JCA;
    const ebb_layer first = front_layer(box, 0), second = front_layer(box, 1);
    const ebb_layer one[2] = {first, fill}, two[2] = {second, fill};
    const ebb_layer both[4] = {first, {.kind = EBB_LAYER_AIR, .thickness = gap}, second, fill};
    const ebb_unit a = stack_unit(2, one), c = stack_unit(2, two), d = stack_unit(4, both);
    const double omega = 6.283185307179586 * hz;
    if (box->n_fronts == 2 && box->behind)
        return ebb_assembly_alpha(&d.assembly, &b->air, hz);
    if (box->n_fronts == 1)
        return ebb_assembly_alpha(&a.assembly, &b->air, hz);
    return ebb_alpha_normal(box->share * ebb_assembly_beta(&a.assembly, &b->air, NULL, omega) +
                            (1 - box->share) *
                                ebb_assembly_beta(&c.assembly, &b->air, NULL, omega));
}

static void test_the_boxes_do_what_is_said_of_them(void **state)
{
    (void)state;
    bench b = bench_open();
    static const ebb_figure ONE[] = {{50, 0.99}}, WIDE[] = {{30, 0.5}, {45, 0.9}, {63, 0.7}};
    const struct {
        const ebb_figure *figure;
        size_t n;
        double depth, front_mass;
        ebb_fill_kind fill;
    } asked[] = {{ONE, 1, 0.25, 4.2, EBB_FILL_WOOL},
                 {WIDE, 3, 0.25, NAN, EBB_FILL_WOOL},
                 {SOBER, 4, 0.2, 12, EBB_FILL_AIR},
                 {SOBER, 4, 0.2, 9, EBB_FILL_UNSAID},
                 {SOBER, 4, 0.3, 4.1, EBB_FILL_WOOL}};
    bool beside = false, behind = false;
    for (size_t i = 0; i < 5; i++) {
        ebb_claim claim = a_claim(asked[i].depth, EBB_FIGURE_NORMAL, asked[i].n, asked[i].figure);
        claim.front_mass = asked[i].front_mass;
        claim.fill = asked[i].fill;
        const ebb_claim_check *c = judged(&b, &claim);
        for (size_t j = 0; j < c->n; j++)
            near(c->figure[j].reached, alpha_of(&b, &c->box, asked[i].depth, c->figure[j].hz),
                 1e-9);
        beside = beside || (c->box.n_fronts == 2 && !c->box.behind);
        behind = behind || (c->box.n_fronts == 2 && c->box.behind);
    }
    assert_true(beside && behind);
    bench_close(&b);
}

/* A coefficient of 1 from a reverberation room needs no more than 0.4 or so at normal incidence. */
static void test_loud_figures_need_little(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_claim claim = a_claim(0.28, EBB_FIGURE_DIFFUSE, 3, LOUD);
    claim.front_mass = 4.5;
    const ebb_claim_check *c = judged(&b, &claim);
    for (size_t i = 0; i < c->n; i++) {
        assert_int_equal(c->figure[i].word, EBB_CLAIM_POSSIBLE);
        assert_true(c->figure[i].normal > 0.2 && c->figure[i].normal < 0.6);
    }
    claim.kind = EBB_FIGURE_NORMAL;
    c = judged(&b, &claim);
    assert_int_equal(c->figure[1].word, EBB_CLAIM_IMPOSSIBLE); /* 1.05 */
    claim.kind = EBB_FIGURE_UNSAID;
    c = judged(&b, &claim);
    assert_int_equal(c->figure[1].word, EBB_CLAIM_ONLY_DIFFUSE);
    assert_true(c->figure[1].normal < 0.6);
    bench_close(&b);
}

static void test_areas(void **state)
{
    (void)state;
    bench b = bench_open();
    static const ebb_figure AREAS[] = {{40, 0.6}, {50, 0.8}}, HUGE[] = {{40, 30}, {50, 0.5}};
    ebb_claim claim = a_claim(0.28, EBB_FIGURE_AREA, 2, AREAS);
    const ebb_claim_check *c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_POSSIBLE);
    /* In the label's own kind: square metres, the limit near (wavelength)^2/pi for a small unit. */
    const double wavelength = b.air.speed / 40;
    near(c->figure[0].limit, wavelength * wavelength / 3.14159265, 2.5);
    near(c->figure[0].reached, 0.6, 0.3);
    claim.figure = HUGE;
    c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_IMPOSSIBLE);
    claim.face[0] = claim.face[1] = NAN;
    c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_IMPOSSIBLE);
    assert_int_equal(c->figure[1].word, EBB_CLAIM_UNTOLD);
    assert_false(c->searched);
    bench_close(&b);
}

static void test_labels_that_say_too_little_or_too_much(void **state)
{
    (void)state;
    bench b = bench_open();
    ebb_claim claim = a_claim(NAN, EBB_FIGURE_NORMAL, 4, SOBER);
    const ebb_claim_check *c = judged(&b, &claim);
    assert_int_equal(c->figure[2].word, EBB_CLAIM_UNTOLD);
    assert_non_null(strstr(c->figure[2].why, "deep"));
    assert_true(isnan(c->figure[2].reached) && isnan(c->flat) && isfinite(c->needed));
    claim = a_claim(0.3, EBB_FIGURE_NORMAL, 4, SOBER);
    claim.mass = 10;
    claim.front_mass = 40; /* 29 kg of fronts */
    c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_UNTOLD);
    assert_non_null(strstr(c->figure[0].why, "contradicts"));
    bench_close(&b);
}

static void test_porous_boxes_are_weak_low_down(void **state)
{
    (void)state;
    bench b = bench_open();
    static const ebb_figure MUCH[] = {{30, 0.8}, {40, 0.8}}, LITTLE[] = {{30, 0.22}, {50, 0.38}};
    ebb_claim claim = a_claim(0.25, EBB_FIGURE_NORMAL, 2, MUCH);
    claim.front = false;
    const ebb_claim_check *c = judged(&b, &claim);
    assert_int_equal(c->box.n_fronts, 0);
    for (size_t i = 0; i < 2; i++) {
        assert_int_equal(c->figure[i].word, EBB_CLAIM_NOT_FOUND);
        /* Rigid frames of 0.25 m: 0.27 to 0.31 at 30 Hz, about 0.4 at 40 Hz (computed). */
        near(c->figure[i].alone, i == 0 ? 0.30 : 0.39, 0.03);
    }
    claim.figure = LITTLE;
    c = judged(&b, &claim);
    assert_int_equal(c->figure[0].word, EBB_CLAIM_POSSIBLE);
    assert_int_equal(c->figure[1].word, EBB_CLAIM_POSSIBLE);
    bench_close(&b);
}

/* More depth never hurts, and the bound never forbids what a box was found for. */
static void test_depth_helps(void **state)
{
    (void)state;
    bench b = bench_open();
    double before = INFINITY;
    for (double depth = 0.1; depth < 0.55; depth += 0.1) {
        const ebb_claim claim = a_claim(depth, EBB_FIGURE_NORMAL, 5, BOASTFUL);
        const ebb_claim_check *c = judged(&b, &claim);
        double lack = 0;
        for (size_t i = 0; i < c->n; i++)
            lack += pow(fmax(0, c->figure[i].value - c->figure[i].reached), 2);
        assert_true(lack <= before + 0.01);
        before = lack;
        const double width = b.air.speed * (1.0 / 30 - 1.0 / 80);
        const double limit = 4 * pow(3.14159265358979, 2) * b.air.gamma * depth;
        near(c->flat, 1 - exp(-limit / width), 1e-3);
    }
    bench_close(&b);
}

static void test_the_same_answer_each_time(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_claim claim = a_claim(0.22, EBB_FIGURE_UNSAID, 5, BOASTFUL);
    const ebb_claim_check *one = judged(&b, &claim), *two = judged(&b, &claim);
    assert_true(one->box.mass[0] == two->box.mass[0] && one->box.mass[1] == two->box.mass[1]);
    assert_true(one->box.share == two->box.share && one->box.gap == two->box.gap);
    for (size_t i = 0; i < one->n; i++)
        assert_string_equal(one->figure[i].why, two->figure[i].why);
    bench_close(&b);
}

static void test_bad_figures_are_refused(void **state)
{
    (void)state;
    bench b = bench_open();
    static const ebb_figure FALLING[] = {{50, 0.5}, {40, 0.5}}, NOTHING[] = {{0, 0.5}},
                            ODD[] = {{40, NAN}}, BELOW[] = {{40, -0.1}};
    const ebb_figure *bad[] = {FALLING, NOTHING, ODD, BELOW};
    for (int i = 0; i < 4; i++) {
        ebb_claim_check *check = (ebb_claim_check *)&b;
        const ebb_claim claim = a_claim(0.2, EBB_FIGURE_NORMAL, i == 0 ? 2 : 1, bad[i]);
        assert_int_equal(ebb_claim_judge(b.ctx, b.arena, &claim, &b.air, EBB_UNITS_METRIC, &check),
                         EBB_E_RANGE);
        assert_null(check);
    }
    bench_close(&b);
}

static void test_every_word_has_a_name(void **state)
{
    (void)state;
    for (int w = EBB_CLAIM_POSSIBLE; w <= EBB_CLAIM_UNTOLD; w++)
        for (int v = EBB_CLAIM_POSSIBLE; v < w; v++)
            assert_string_not_equal(ebb_claim_word_name((ebb_claim_word)w),
                                    ebb_claim_word_name((ebb_claim_word)v));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_too_much_from_too_little_depth),
        cmocka_unit_test(test_a_sober_label_is_possible),
        cmocka_unit_test(test_the_boxes_do_what_is_said_of_them),
        cmocka_unit_test(test_loud_figures_need_little),
        cmocka_unit_test(test_areas),
        cmocka_unit_test(test_labels_that_say_too_little_or_too_much),
        cmocka_unit_test(test_porous_boxes_are_weak_low_down),
        cmocka_unit_test(test_depth_helps),
        cmocka_unit_test(test_the_same_answer_each_time),
        cmocka_unit_test(test_bad_figures_are_refused),
        cmocka_unit_test(test_every_word_has_a_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
