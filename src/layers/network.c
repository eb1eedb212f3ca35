/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The network of a cell.
 *
 * Nodes: room face (0), space behind the outer front (A), before and behind the inner front (B, C;
 * with one front A is C), back of the cavity (E). Branches: fronts, slabs of fluid, the slit
 * (0 to A), walls (C and E to the room when they move against it, to the ground when built in). The
 * sides give way along the whole depth: half of them sits at either end of the cavity. Walls of the
 * gap, short and held by two frames, stand still; so do the boards between cells.
 *
 * It is solved from the back to the face. With u the volume velocity towards the back and p0 the
 * pressure in the room, what lies behind any plane is
 *
 *   u P = U p - N p0.
 *
 * P and U go through the elements like pressure and velocity, N stands for what the branches to the
 * room push in from behind, and no element divides: nothing fails at a resonance, nothing cancels
 * behind thick damped slabs. The factors of the slabs multiply all three.
 */
#include "network.h"

#include <float.h>

typedef struct plane {
    double _Complex p, u, n;
} plane;

/* What lies between two planes: [a, b; c, d] and its factor. */
typedef struct link {
    double _Complex a, b, c, d;
    double factor;
} link;

static const link NOTHING = {1, 0, 0, 1, 1};

/* One more slab towards the room, of cross-section `area`. */
static void add_slab(link *link_, const ebb_layer *layer, double area, const ebb_air *air,
                     const ebb_variation *vary, double _Complex omega)
{
    double _Complex density, modulus;
    ebb_slab slab;
    ebb_layers_fluid(layer, air, vary, omega, &density, &modulus);
    const double factor = ebb_layers_slab(layer->thickness, density, modulus, omega, &slab);
    const double _Complex z = slab.impedance / area, y = slab.admittance * area, s = slab.straight;
    const link old = *link_;
    *link_ = (link){s * old.a + z * old.c, s * old.b + z * old.d, y * old.a + s * old.c,
                    y * old.b + s * old.d, old.factor * factor};
}

/* Layers from the room inwards in a space `depth` deep; what is left is air, nearest the room. */
static link space(const ebb_cabinet *cabinet, size_t cell, double depth, size_t n,
                  const ebb_layer *layers, const ebb_air *air, const ebb_variation *vary,
                  double _Complex omega)
{
    const ebb_layer rest = {.kind = EBB_LAYER_AIR,
                            .thickness = depth - ebb_layers_depth(n, layers),
                            .loss = cabinet->air_loss};
    double side[2];
    ebb_layers_shaft(cabinet, cell, side);
    link through = NOTHING;
    for (size_t i = n; i-- > 0;)
        add_slab(&through, &layers[i], side[0] * side[1], air, vary, omega);
    if (rest.thickness > 0)
        add_slab(&through, &rest, side[0] * side[1], air, vary, omega);
    return through;
}

/* Everything in a cell at one frequency: acoustic impedances of the fronts, Pa s/m3, and
 * admittances of slit and walls. */
typedef struct network {
    size_t n_fronts;
    double area; /* of a front, m2 */
    double _Complex front[EBB_FRONTS];
    link gap, cavity;
    double _Complex slit, side, back; /* side: half of what gives way there */
    double outside;                   /* 1: walls move against the room, 0: against the ground */
} network;

double _Complex ebb_layers_plate(const ebb_plate *plate, double stiffness, double _Complex omega)
{
    const double _Complex y = ebb_plate_mobility(plate, stiffness, omega);
    return ebb_layers_abs2(y) < 1e-40 ? 1e20 : 1 / y;
}

static double _Complex front_impedance(const ebb_front *front, const double side[2],
                                       const ebb_variation *vary, double _Complex omega)
{
    const double r = front->resistance * vary->resistance;
    if (front->plate)
        return r + ebb_layers_plate(front->plate, vary->stiffness, omega);
    const double rim = 2 * (side[0] + side[1]) / (side[0] * side[1]);
    const double k = front->mount.stiffness * rim * vary->stiffness;
    const double _Complex jw = ebb_layers_turn(omega);
    return jw * ebb_layers_front_mass(front) + r +
           ebb_layers_complex(k, k * front->mount.loss) / jw;
}

static double _Complex wall(const ebb_cabinet *cabinet, size_t cell, int kind,
                            const ebb_variation *vary, double _Complex omega)
{
    const ebb_plate *plate = ebb_layers_wall_plate(cabinet, cell, kind);
    double side[2];
    const size_t count = ebb_layers_wall(cabinet, cell, kind, side);
    if (!plate || count == 0)
        return 0;
    return (double)count * side[0] * side[1] * ebb_plate_mobility(plate, vary->stiffness, omega);
}

static network build(const ebb_cabinet *cabinet, size_t index, const ebb_air *air,
                     const ebb_variation *vary, double _Complex omega)
{
    const ebb_cell *cell = &cabinet->cell[index];
    double side[2];
    ebb_cabinet_opening(cabinet, index, side);
    network net = {.n_fronts = cell->n_fronts,
                   .area = side[0] * side[1],
                   .gap = NOTHING,
                   .outside = cabinet->built_in ? 0 : 1};
    for (size_t i = 0; i < cell->n_fronts; i++)
        net.front[i] = front_impedance(&cell->front[i], side, vary, omega) / net.area;
    if (cell->n_fronts > 1)
        net.gap =
            space(cabinet, index, cell->gap, cell->n_between, cell->between, air, vary, omega);
    net.cavity = space(cabinet, index, ebb_cabinet_cavity(cabinet, index), cell->n_fill, cell->fill,
                       air, vary, omega);
    if (cell->leak > 0)
        net.slit =
            1 / ebb_layers_slit(air, cell->leak, cell->leak_path, 2 * (side[0] + side[1]), omega);
    if (!cabinet->rigid) {
        net.back = wall(cabinet, index, EBB_WALL_BACK, vary, omega);
        net.side = 0.5 * (wall(cabinet, index, EBB_WALL_SIDE, vary, omega) +
                          wall(cabinet, index, EBB_WALL_LONG, vary, omega));
    }
    return net;
}

/* Branch y from a node to the room (share 1) or to the ground (0). */
static plane shunt(plane at, double _Complex y, double share)
{
    return (plane){at.p, at.u + y * at.p, at.n + share * y * at.p};
}

static plane series(plane at, double _Complex z)
{
    return (plane){at.p + z * at.u, at.u, at.n};
}

static plane through(plane at, const link *l)
{
    return (plane){l->a * at.p + l->b * at.u, l->c * at.p + l->d * at.u, l->factor * at.n};
}

/* Exactly at a resonance without any loss P is 0; rounding stands for it. */
static double _Complex over(double _Complex above, double _Complex p)
{
    return above / (ebb_layers_abs2(p) == 0 ? DBL_EPSILON : p);
}

/* Pressure behind a series element or a link, from the pressure before it; `behind` and `before`
 * are the planes, b its impedance. In this form nothing grows. */
static double _Complex pressure_behind(double _Complex pressure, plane behind, plane before,
                                       double _Complex b, double factor)
{
    return over(factor * pressure * behind.p + b * behind.n, before.p);
}

/* Pressures at the nodes for 1 Pa in the room, and the flow through the outer front. */
typedef struct solution {
    double _Complex a, b, c, e;
    double _Complex flow;
} solution;

static solution solve(const network *net)
{
    const bool two = net->n_fronts > 1;
    const plane e = shunt((plane){1, 0, 0}, net->back + net->side, net->outside);
    const plane c = shunt(through(e, &net->cavity), net->side, net->outside);
    const plane b = two ? series(c, net->front[1]) : c;
    const plane a = shunt(two ? through(b, &net->gap) : b, net->slit, 1);
    const plane face = series(a, net->front[0]);
    solution s;
    s.flow = over(face.u - face.n, face.p);
    s.a = pressure_behind(1, a, face, net->front[0], 1);
    s.b = two ? pressure_behind(s.a, b, a, net->gap.b, net->gap.factor) : s.a;
    s.c = two ? pressure_behind(s.b, c, b, net->front[1], 1) : s.a;
    s.e = pressure_behind(s.c, e, c, net->cavity.b, net->cavity.factor);
    return s;
}

/* The plate alone carries the pressure difference that its centre answers to; the extra resistance
 * takes the rest. */
static double _Complex at_centre(const ebb_front *front, double _Complex velocity,
                                 const ebb_variation *vary, double _Complex omega)
{
    if (!front->plate)
        return velocity;
    return velocity * ebb_layers_plate(front->plate, vary->stiffness, omega) *
           ebb_plate_centre(front->plate, vary->stiffness, omega);
}

double _Complex ebb_layers_cell(const ebb_cabinet *cabinet, size_t cell, const ebb_air *air,
                                const ebb_variation *vary, double _Complex omega,
                                ebb_motion *motion)
{
    const network net = build(cabinet, cell, air, vary, omega);
    const solution s = solve(&net);
    const double _Complex walls = net.side * (1 - s.c) + (net.side + net.back) * (1 - s.e);
    const double _Complex leak = net.slit * (1 - s.a) + net.outside * walls;
    if (motion) {
        const bool two = net.n_fronts > 1;
        const ebb_front *front = cabinet->cell[cell].front;
        const double _Complex inner = two ? over(s.b - s.c, net.front[1]) : 0;
        *motion = (ebb_motion){.velocity = {s.flow / net.area, inner / net.area},
                               .pressure = {s.a, two ? s.c : 0},
                               .leak = leak};
        for (size_t i = 0; i < net.n_fronts; i++)
            motion->centre[i] = at_centre(&front[i], motion->velocity[i], vary, omega);
    }
    return s.flow + leak;
}
