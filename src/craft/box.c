/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A recipe as a cabinet.
 *
 * The search looks at tens of thousands of boxes and can not solve plates for each. It takes a
 * front as one body on one spring, which on a soft rim it is: a uniform pressure drives only that
 * motion. On a stiff rim the board gives way too; the spring is then rim and board in series
 * (Dunkerley: 1/w^2 = 1/w_rim^2 + 1/w_board^2, with the board as if held at its rim and free to
 * turn), and the body is heavier, up to the 1/0.657 = 1.52 of a simply supported plate. What is
 * picked is calculated again with plates. Walls likewise have their first mode only.
 */
#include "private.h"

#define BATTEN 0.6  /* kg/m: frames of the fronts with glue; our assumption */
#define FIXINGS 2.0 /* kg: fixings and cloth; our assumption */
#define TRAYS 0.08  /* of the grains' weight: trays or bags; our assumption */
#define AIR_LOSS 0.005
#define SIMPLE_SHARE 0.657 /* share of the first mode of a simply supported plate, 64/pi^4 */
#define MOST_BRACES 3
#define CLEAR_OF_WALLS 1.5 /* first wall resonance over the highest frequency that matters */

const ebb_craft_slip EBB_CRAFT_NO_SLIP = {1, 1, 1, 1, 0, 1, NULL};

double ebb_craft_strip_stiffness(const ebb_strip *s)
{
    return s->pressed ? ebb_mount_pressed(s->modulus, s->thickness, s->width)
                      : ebb_mount_bending(s->modulus, s->thickness, s->width);
}

/* ---- geometry -------------------------------------------------------------------------------- */

/* One width for all fronts: the frame is cut once. */
double ebb_craft_rim(const ebb_craft_recipe *r)
{
    double rim = 0;
    for (int c = 0; c < r->cells; c++)
        for (int f = 0; f < r->fronts; f++)
            rim = fmax(rim, r->cell[c].front[f].strip->width);
    return rim;
}

/* Inside the walls and dividers, m. */
static double inner_width(const ebb_craft_recipe *r, int cell)
{
    return (r->face[0] - (r->cells + 1) * r->wall_thickness) * r->cell[cell].share;
}

double ebb_craft_cell_area(const ebb_craft_recipe *r, int cell)
{
    return inner_width(r, cell) * (r->face[1] - 2 * r->wall_thickness);
}

void ebb_craft_opening(const ebb_craft_recipe *r, int cell, double side[2])
{
    const double rim = ebb_craft_rim(r);
    side[0] = inner_width(r, cell) - 2 * rim;
    side[1] = r->face[1] - 2 * r->wall_thickness - 2 * rim;
}

double ebb_craft_cavity(const ebb_craft_recipe *r, int cell)
{
    double depth = r->depth - r->wall_thickness - r->cell[cell].gap;
    for (int f = 0; f < r->fronts; f++)
        depth -= r->cell[cell].front[f].thickness;
    return depth;
}

/* ---- fronts ---------------------------------------------------------------------------------- */

static ebb_board board_of(const ebb_material *material, double thickness)
{
    ebb_board board = material->board;
    board.name = material->name;
    board.thickness = thickness;
    return board;
}

/* The body and spring that stand for a board on its rim. */
static void stiffen(const double side[2], ebb_front *front)
{
    const ebb_board *b = &front->board;
    const double own = b->density * b->thickness, mass = own + front->mass;
    const double area = side[0] * side[1], edge = 2 * (side[0] + side[1]);
    const double bending = b->modulus * pow(b->thickness, 3) / (12 * (1 - b->poisson * b->poisson));
    const double pi2 = EBB_CRAFT_PI * EBB_CRAFT_PI;
    const double wave = pi2 * (1 / (side[0] * side[0]) + 1 / (side[1] * side[1]));
    const double rim2 = front->mount.stiffness * edge / (area * mass);
    const double board2 = wave * wave * bending / mass;
    const double both2 = rim2 * board2 / (rim2 + board2);
    const double share = 1 - (1 - SIMPLE_SHARE) * rim2 / (rim2 + board2);
    front->mass = mass / share - own;
    front->mount.loss = both2 * (front->mount.loss / rim2 + b->loss / board2);
    front->mount.stiffness = both2 * mass / share * area / edge;
}

static void make_front(const ebb_craft_front *from, const double side[2], bool bends,
                       const ebb_craft_slip *slip, ebb_front *front)
{
    *front = (ebb_front){
        .board = board_of(from->material, from->thickness), .mass = from->trim, .bends = bends};
    front->mount.stiffness = ebb_craft_strip_stiffness(from->strip) * slip->mount;
    front->mount.loss = from->strip->loss;
    front->board.density *= slip->front;
    front->mass *= slip->front;
    if (!bends)
        stiffen(side, front);
}

/* ---- walls ----------------------------------------------------------------------------------- */

/* First resonance of a clamped plate, Hz. The fit gives 36.1 for a square and 24.6 for 1:2 where
 * the tables have 35.99 and 24.58 (from memory). */
static double clamped_hz(const ebb_board *b, double x, double y)
{
    const double a = fmin(x, y), q = a / fmax(x, y);
    const double bending = b->modulus * pow(b->thickness, 3) / (12 * (1 - b->poisson * b->poisson));
    return 22.37 * sqrt(1 + 0.605 * q * q + q * q * q * q) / (a * a) *
           sqrt(bending / (b->density * b->thickness)) / (2 * EBB_CRAFT_PI);
}

/* One mode of a clamped board. The share is that of a beam for a long strip, 0.69, and 0.49 for a
 * square (computed: 0.489). */
static void make_wall(const ebb_board *b, double x, double y, ebb_plate *plate,
                      double _Complex *lambda, double _Complex *share)
{
    const double w = 2 * EBB_CRAFT_PI * clamped_hz(b, x, y);
    *lambda = w * w + w * w * b->loss * I;
    *share = 0.69 - 0.2 * fmin(x, y) / fmax(x, y);
    *plate = (ebb_plate){.side = {x, y},
                         .mass = b->density * b->thickness,
                         .n = 1,
                         .lambda = lambda,
                         .share = share,
                         .middle = share};
}

/* In the order of a prepared cabinet: back, sides, top and bottom, cut by braces. */
static void add_walls(const ebb_craft_recipe *r, ebb_craft_box *box)
{
    const ebb_board *board = &box->cabinet.wall;
    for (int c = 0; c < r->cells; c++) {
        const double across = fmax(1, ceil(r->cell[c].share * (r->brace[0] + 1) - 1e-9));
        const double high = r->face[1] - 2 * r->wall_thickness;
        const double w = ebb_craft_cell_area(r, c) / high / across, h = high / (r->brace[1] + 1);
        const double sides[3][2] = {
            {w, h}, {h, ebb_craft_cavity(r, c)}, {w, ebb_craft_cavity(r, c)}};
        for (int k = 0; k < 3; k++) {
            make_wall(board, sides[k][0], sides[k][1], &box->wall[c][k], &box->lambda[c][k],
                      &box->share[c][k]);
            box->walls[3 * c + k] = &box->wall[c][k];
        }
    }
    box->cabinet.wall_plate = box->walls;
}

/* ---- the box --------------------------------------------------------------------------------- */

static ebb_layer wool_layer(const ebb_craft_recipe *r, double thickness, const ebb_craft_slip *slip)
{
    ebb_layer layer = r->wool->layer;
    layer.thickness = thickness;
    layer.resistivity *= slip->wool;
    return layer;
}

/* The bed keeps the thickness it was planned with, whatever batch is poured in. */
static ebb_layer grain_layer(const ebb_craft_recipe *r, int c, const ebb_craft_slip *slip)
{
    ebb_layer layer = slip->batch ? slip->batch->layer : r->batch->layer;
    layer.thickness =
        r->cell[c].grains / (r->batch->layer.grains.bed_density * ebb_craft_cell_area(r, c));
    layer.grains.uptake *= slip->uptake;
    return layer;
}

static void make_cell(const ebb_craft_recipe *r, int c, bool bends, const ebb_craft_slip *slip,
                      ebb_craft_box *box)
{
    const ebb_craft_cell *from = &r->cell[c];
    ebb_cell *cell = &box->cell[c];
    double side[2];
    ebb_craft_opening(r, c, side);
    *cell = (ebb_cell){.share = from->share,
                       .n_fronts = (size_t)r->fronts,
                       .gap = r->fronts > 1 ? from->gap : 0,
                       .between = box->between[c],
                       .fill = box->fill[c],
                       .leak = slip->leak,
                       .leak_path = r->wall_thickness};
    for (int f = 0; f < r->fronts; f++)
        make_front(&from->front[f], side, bends, slip, &cell->front[f]);
    if (from->gap_wool > 0)
        box->between[c][cell->n_between++] = wool_layer(r, from->gap_wool, slip);
    if (from->wool > 0)
        box->fill[c][cell->n_fill++] = wool_layer(r, from->wool, slip);
    if (from->grains > 0)
        box->fill[c][cell->n_fill++] = grain_layer(r, c, slip);
}

static double frame_mass(const ebb_craft_recipe *r)
{
    double length = 0;
    for (int c = 0; c < r->cells; c++) {
        double side[2];
        ebb_craft_opening(r, c, side);
        length += r->fronts * 2 * (side[0] + side[1]);
    }
    return BATTEN * length;
}

void ebb_craft_box_make(const ebb_craft_recipe *r, bool bends, const ebb_craft_slip *slip,
                        ebb_craft_box *box)
{
    double grains = 0;
    memset(box, 0, sizeof *box);
    for (int c = 0; c < r->cells; c++) {
        make_cell(r, c, bends, slip, box);
        grains += r->cell[c].grains;
    }
    box->cabinet = (ebb_cabinet){.size = {r->face[0], r->face[1], r->depth},
                                 .wall = board_of(r->wall, r->wall_thickness),
                                 .brace = {r->brace[0], r->brace[1]},
                                 .rim = ebb_craft_rim(r),
                                 .frame = frame_mass(r),
                                 .extra = FIXINGS + TRAYS * grains,
                                 .air_loss = AIR_LOSS,
                                 .n_cells = (size_t)r->cells,
                                 .cell = box->cell};
    if (!bends)
        add_walls(r, box);
}

ebb_status ebb_craft_cabinet(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft_recipe *recipe,
                             bool bends, ebb_cabinet **cabinet)
{
    ebb_craft_box *box = EBB_NEW(arena, ebb_craft_box, 1);
    *cabinet = NULL;
    if (box == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a box");
    ebb_craft_box_make(recipe, bends, &EBB_CRAFT_NO_SLIP, box);
    *cabinet = &box->cabinet;
    return EBB_OK;
}

/* ---- money ----------------------------------------------------------------------------------- */

/* Adds a thing to the bill. */
static void add(double amount, double price, double *sum, bool *priced)
{
    if (amount > 0 && !(price > 0))
        *priced = false;
    *sum += amount * price;
}

double ebb_craft_cost(const ebb_craft_recipe *r, bool *priced)
{
    const double w = r->face[0], h = r->face[1], d = r->depth;
    double sum = 0;
    *priced = true;
    add(w * h + 2 * w * d + (r->cells + 1) * h * d, r->wall_price, &sum, priced);
    for (int c = 0; c < r->cells; c++) {
        const ebb_craft_cell *cell = &r->cell[c];
        double side[2];
        ebb_craft_opening(r, c, side);
        for (int f = 0; f < r->fronts; f++) {
            add(side[0] * side[1], cell->front[f].price, &sum, priced);
            add(2 * (side[0] + side[1]), cell->front[f].strip->price, &sum, priced);
        }
        add((cell->wool + cell->gap_wool) * ebb_craft_cell_area(r, c), r->wool ? r->wool->price : 0,
            &sum, priced);
        add(cell->grains, r->batch ? r->batch->price : 0, &sum, priced);
    }
    return sum;
}

/* ---- braces ---------------------------------------------------------------------------------- */

/* Few braces first: each is work, weight and lost volume. */
bool ebb_craft_brace(ebb_craft_recipe *r, double hz)
{
    const ebb_board board = board_of(r->wall, r->wall_thickness);
    const double least = CLEAR_OF_WALLS * hz, d = r->depth;
    for (int sum = 0; sum <= 2 * MOST_BRACES; sum++)
        for (int x = 0; x <= sum; x++) {
            const int y = sum - x;
            if (x > MOST_BRACES || y > MOST_BRACES)
                continue;
            const double w = r->face[0] / (x + 1), h = r->face[1] / (y + 1);
            if (clamped_hz(&board, w, h) < least || clamped_hz(&board, d, h) < least ||
                clamped_hz(&board, w, d) < least)
                continue;
            r->brace[0] = x;
            r->brace[1] = y;
            return true;
        }
    return false;
}
