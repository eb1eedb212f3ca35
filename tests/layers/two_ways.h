/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A cell of a box computed in two ways that share nothing with the library but the plates: a
 * product of transfer matrices, and nodes joined by admittances with a dense solve. Include after
 * cmocka.h, check.h and boxes.h.
 */
#ifndef TWO_WAYS_H
#define TWO_WAYS_H

#define NODES 16

/* ---- elements, from their textbook forms ----------------------------------------------------- */

typedef struct medium {
    double _Complex density, modulus;
} medium;

static inline medium jca(const ebb_layer *l, double _Complex jw)
{
    const ebb_air *a = &sample_air;
    const double phi = l->porosity, t = l->tortuosity, s = l->resistivity;
    const double viscous =
        l->viscous_length > 0 ? l->viscous_length : sqrt(8 * t * a->viscosity / (s * phi));
    const double thermal = l->thermal_length > 0 ? l->thermal_length : 2 * viscous;
    const double _Complex g =
        csqrt(1 + 4 * jw * t * t * a->viscosity * a->density / pow(s * viscous * phi, 2));
    const double _Complex h =
        1 + 8 * a->viscosity / (jw * thermal * thermal * a->prandtl * a->density) *
                csqrt(1 + jw * a->density * a->prandtl * thermal * thermal / (16 * a->viscosity));
    medium m = {t * a->density / phi * (1 + s * phi / (jw * a->density * t) * g),
                a->density * a->speed * a->speed / phi / (a->gamma - (a->gamma - 1) / h)};
    if (l->model == EBB_POROUS_LIMP) {
        const double whole = l->frame_density + phi * a->density;
        m.density =
            (m.density * whole - a->density * a->density) / (whole + m.density - 2 * a->density);
    }
    return m;
}

static inline medium medium_of(const ebb_layer *l, double _Complex jw)
{
    const ebb_air *a = &sample_air;
    if (l->kind == EBB_LAYER_AIR)
        return (medium){a->density, a->density * a->speed * a->speed * (1 + I * l->loss)};
    return jca(l, jw);
}

static inline double _Complex slit(const ebb_cell *cell, double length, double _Complex jw)
{
    const double _Complex s =
        0.5 * cell->leak * csqrt(jw * sample_air.density / sample_air.viscosity);
    return jw * sample_air.density * cell->leak_path / (cell->leak * length * (1 - ctanh(s) / s));
}

static inline double _Complex front_of(const ebb_front *front, const double side[2],
                                       double _Complex omega)
{
    const double area = side[0] * side[1], rim = 2 * (side[0] + side[1]);
    const double mass = front->mass + front->board.thickness * front->board.density;
    if (front->bends)
        return front->resistance / area + 1 / (area * ebb_plate_mobility(front->plate, 1, omega));
    return (front->resistance + I * omega * mass +
            front->mount.stiffness * rim / area * (1 + I * front->mount.loss) / (I * omega)) /
           area;
}

/* What a cell is made of at one frequency. */
typedef struct parts {
    double across; /* m2 */
    double side[2];
    double _Complex front[2], leak, back, sides;
    size_t n[2]; /* layers in gap and cavity, with the air that is left */
    ebb_layer layer[2][BOX_LAYERS + 1];
} parts;

static inline size_t with_air(const ebb_cabinet *c, double depth, size_t n, const ebb_layer *layers,
                              ebb_layer *out)
{
    double rest = depth;
    for (size_t i = 0; i < n; i++)
        rest -= layers[i].thickness;
    size_t count = 0;
    if (rest > 1e-9) /* rounding; as an admittance it would be all that counts */
        out[count++] = (ebb_layer){.kind = EBB_LAYER_AIR, .thickness = rest, .loss = c->air_loss};
    for (size_t i = 0; i < n; i++)
        out[count++] = layers[i];
    return count;
}

static inline double spans(double share, int braces)
{
    return fmax(1, ceil(share * (braces + 1) - 1e-9));
}

/* Boards between braces: back, outer sides (not those between cells), top and bottom. */
static inline void walls_of(const ebb_cabinet *c, size_t index, double depth, double _Complex omega,
                            parts *p)
{
    const double t = c->wall.thickness, height = c->size[1] - 2 * t;
    const double width = c->cell[index].share * (c->size[0] - (double)(c->n_cells + 1) * t);
    const double across = spans(c->cell[index].share, c->brace[0]), up = c->brace[1] + 1;
    const double outer = (index == 0) + (index + 1 == c->n_cells);
    const ebb_plate *const *plate = c->wall_plate + 3 * index;
    assert_near(plate[0]->side[0], width / across, 1e-12);
    assert_near(plate[0]->side[1], height / up, 1e-12);
    assert_near(plate[2]->side[1], depth, 1e-12);
    p->back = width * height * ebb_plate_mobility(plate[0], 1, omega);
    p->sides = 2 * width * depth * ebb_plate_mobility(plate[2], 1, omega);
    if (outer > 0)
        p->sides += outer * height * depth * ebb_plate_mobility(plate[1], 1, omega);
}

static inline void take_apart(const ebb_cabinet *c, size_t index, double _Complex omega, parts *p)
{
    const ebb_cell *cell = &c->cell[index];
    const double t = c->wall.thickness, height = c->size[1] - 2 * t;
    const double width = cell->share * (c->size[0] - (double)(c->n_cells + 1) * t);
    double depth = c->size[2] - t - cell->front[0].board.thickness;
    memset(p, 0, sizeof *p);
    p->across = width * height;
    p->side[0] = width - 2 * c->rim;
    p->side[1] = height - 2 * c->rim;
    for (size_t k = 0; k < cell->n_fronts; k++)
        p->front[k] = front_of(&cell->front[k], p->side, omega);
    if (cell->n_fronts == 2) {
        depth -= cell->front[1].board.thickness + cell->gap;
        p->n[0] = with_air(c, cell->gap, cell->n_between, cell->between, p->layer[0]);
    }
    p->n[1] = with_air(c, depth, cell->n_fill, cell->fill, p->layer[1]);
    if (cell->leak > 0)
        p->leak = 1 / slit(cell, 2 * (p->side[0] + p->side[1]), I * omega);
    if (!c->rigid)
        walls_of(c, index, depth, omega, p);
}

/* ---- first way: transfer matrices (built in, sealed: a plain chain) ---------------------------
 */

typedef struct matrix {
    double _Complex a, b, c, d;
} matrix;

static inline matrix times(matrix x, matrix y)
{
    return (matrix){x.a * y.a + x.b * y.c, x.a * y.b + x.b * y.d, x.c * y.a + x.d * y.c,
                    x.c * y.b + x.d * y.d};
}

static inline matrix slabs(const parts *p, int where, double _Complex omega)
{
    matrix all = {1, 0, 0, 1};
    for (size_t i = 0; i < p->n[where]; i++) {
        const medium m = medium_of(&p->layer[where][i], I * omega);
        const double _Complex k = omega * csqrt(m.density / m.modulus);
        const double _Complex z = csqrt(m.density * m.modulus) / p->across;
        const double _Complex u = k * p->layer[where][i].thickness;
        all = times(all, (matrix){ccos(u), I * z * csin(u), I * csin(u) / z, ccos(u)});
    }
    return all;
}

static inline double _Complex by_matrices(const ebb_cabinet *c, size_t index, double _Complex omega)
{
    parts p;
    take_apart(c, index, omega, &p);
    matrix all = {1, p.front[0], 0, 1};
    if (c->cell[index].n_fronts == 2) {
        all = times(all, slabs(&p, 0, omega));
        all = times(all, (matrix){1, p.front[1], 0, 1});
    }
    all = times(all, (matrix){1, 0, p.sides / 2, 1});
    all = times(all, slabs(&p, 1, omega));
    all = times(all, (matrix){1, 0, p.sides / 2 + p.back, 1});
    return all.c / all.a;
}

/* ---- second way: nodes ------------------------------------------------------------------------
 */

/* In long double: the large admittances of thin slabs cost digits. */
typedef long double _Complex number;

/* Node 0 is the room at 1 Pa, node -1 the ground. */
typedef struct nodes {
    int n;
    number y[NODES][NODES], p[NODES];
} nodes;

static inline void branch(nodes *net, int from, int to, number y)
{
    net->y[from][from] += y;
    if (to < 0)
        return;
    net->y[to][to] += y;
    net->y[from][to] -= y;
    net->y[to][from] -= y;
}

static inline int add_slabs(nodes *net, int from, const parts *p, int where, double _Complex omega)
{
    for (size_t i = 0; i < p->n[where]; i++) {
        const medium m = medium_of(&p->layer[where][i], I * omega);
        const number u = omega * csqrt(m.density / m.modulus) * p->layer[where][i].thickness;
        const number z = csqrt(m.density * m.modulus) / p->across;
        const int to = net->n++;
        net->y[from][from] += 1 / (I * z * ctanl(u));
        net->y[to][to] += 1 / (I * z * ctanl(u));
        net->y[from][to] -= 1 / (I * z * csinl(u));
        net->y[to][from] -= 1 / (I * z * csinl(u));
        from = to;
    }
    return from;
}

/* Pressures by Gauss elimination with pivoting. */
static inline void solve_nodes(nodes *net)
{
    number m[NODES][NODES + 1];
    const int n = net->n;
    for (int i = 1; i < n; i++) {
        for (int k = 1; k < n; k++)
            m[i][k] = net->y[i][k];
        m[i][n] = -net->y[i][0];
    }
    for (int k = 1; k < n; k++) {
        int best = k;
        for (int i = k + 1; i < n; i++)
            if (cabsl(m[i][k]) > cabsl(m[best][k]))
                best = i;
        for (int c = 1; c <= n; c++) {
            const number swap = m[k][c];
            m[k][c] = m[best][c];
            m[best][c] = swap;
        }
        for (int i = 1; i < n; i++) {
            const number factor = i == k ? 0 : m[i][k] / m[k][k];
            for (int c = k; i != k && c <= n; c++)
                m[i][c] -= factor * m[k][c];
        }
    }
    net->p[0] = 1;
    for (int i = 1; i < n; i++)
        net->p[i] = m[i][n] / m[i][i];
}

/* Flow out of the room; what moves in *motion. */
static inline double _Complex by_nodes(const ebb_cabinet *c, size_t index, double _Complex omega,
                                       ebb_motion *motion)
{
    nodes net = {.n = 2};
    parts p;
    const bool two = c->cell[index].n_fronts == 2;
    const int ground = c->built_in ? -1 : 0;
    take_apart(c, index, omega, &p);
    branch(&net, 0, 1, 1 / (number)p.front[0]);
    branch(&net, 0, 1, p.leak);
    int before = 1, behind = 1;
    if (two) {
        before = add_slabs(&net, 1, &p, 0, omega);
        behind = net.n++;
        branch(&net, before, behind, 1 / (number)p.front[1]);
    }
    const int end = add_slabs(&net, behind, &p, 1, omega);
    branch(&net, behind, ground, p.sides / 2);
    branch(&net, end, ground, p.sides / 2 + p.back);
    solve_nodes(&net);
    number flow = 0;
    for (int i = 0; i < net.n; i++)
        flow += net.y[0][i] * net.p[i];
    const double area = p.side[0] * p.side[1];
    motion->velocity[0] = (double _Complex)((1 - net.p[1]) / p.front[0] / area);
    motion->velocity[1] =
        two ? (double _Complex)((net.p[before] - net.p[behind]) / p.front[1] / area) : 0;
    motion->pressure[0] = (double _Complex)net.p[1];
    motion->pressure[1] = two ? (double _Complex)net.p[behind] : 0;
    motion->leak = (double _Complex)(flow - motion->velocity[0] * area);
    return (double _Complex)flow;
}

static inline double _Complex to_beta(const ebb_cabinet *c, double _Complex flow)
{
    return flow * sample_air.density * sample_air.speed / (c->size[0] * c->size[1]);
}

#endif
