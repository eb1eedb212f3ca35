/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What each kind of layer does to pressure and velocity (transfer matrices), at complex angular
 * frequency.
 *
 * Constant loss factors (panel, lumped spring, air) are hysteretic: right for the response at a
 * frequency and for slightly damped modes, but not causal. No impulse response may be made from
 * an assembly that has them.
 *
 * A fluid layer enters only through cos u and sin u / u, u = k d, both even in u: the sign of the
 * square root in k does not matter, and there is no branch cut for Re omega > 0.
 */
#include "chain.h"
#include "network.h"

double ebb_layers_sincos(double _Complex z, double _Complex *sine, double _Complex *cosine)
{
    const double x = creal(z), y = cimag(z);
    const double s = sin(x), c = cos(x);
    if (y == 0) {
        *sine = s;
        *cosine = c;
        return 1;
    }
    /* expm1 keeps the small sinh y of light damping exact, exp the small factor of strong damping
     */
    const double size = fabs(y);
    const bool light = size < 0.5;
    const double small = light ? expm1(-2 * size) : exp(-size);
    const double factor = light ? sqrt(1 + small) : small;
    const double drop = light ? small : factor * factor - 1;
    const double ch = 1 + 0.5 * drop, sh = copysign(-0.5 * drop, y);
    *sine = ebb_layers_complex(s * ch, c * sh);
    *cosine = ebb_layers_complex(c * ch, -s * sh);
    return factor;
}

/* Series impedance z: the velocity passes, the pressure drops. */
static void add_series(ebb_chain *chain, double _Complex z)
{
    chain->p += z * chain->v;
}

double ebb_layers_slab(double thickness, double _Complex density, double _Complex modulus,
                       double _Complex omega, ebb_slab *slab)
{
    const double _Complex wd = omega * thickness;
    const double _Complex u = wd * ebb_layers_root(density / modulus);
    double _Complex sine, cosine;
    const double factor = ebb_layers_sincos(u, &sine, &cosine);
    /* sin u / u: below 1e-4 the series is exact to rounding and needs no division by zero */
    const double _Complex sinc = ebb_layers_abs2(u) < 1e-8 ? factor * (1 - u * u / 6) : sine / u;
    const double _Complex jwds = ebb_layers_turn(wd * sinc);
    slab->straight = cosine;
    slab->impedance = jwds * density;
    slab->admittance = jwds / modulus;
    return factor;
}

void ebb_layers_add_slab(ebb_chain *chain, double thickness, double _Complex density,
                         double _Complex modulus, double _Complex omega)
{
    ebb_slab slab;
    const double factor = ebb_layers_slab(thickness, density, modulus, omega, &slab);
    const double _Complex p = chain->p, v = chain->v;
    chain->p = slab.straight * p + slab.impedance * v;
    chain->v = slab.straight * v + slab.admittance * p;
    chain->gain2 *= factor * factor;
}

/* (tan x + tanh x)/(2 x) - 1 as power series in x4 = x^4, for small x where the closed form
 * cancels. Every other term of the tangent series. */
static double _Complex strip_series(double _Complex x4)
{
    return x4 *
           (2. / 15 + x4 * (62. / 2835 + x4 * (21844. / 6081075 + x4 * (6404582. / 10854718875))));
}

/*
 * Board bending one way between supports `span` apart that hold it simply. Under an even pressure
 * the mean velocity is
 *
 *   y = v / dp = j S / (m w),  S = (tan x + tanh x)/(2 x) - 1,  x = (span/2) (m w^2 / D)^(1/4)
 *
 * which is the closed form of the sum over all odd modes, sum of 8/(pi n)^2 j w /
 * (m (w_n^2 (1 + j loss) - w^2)); high above the first mode it goes over into the limp mass.
 * Used as a fraction (num/den = S), for S has poles at the modes and zeros between them.
 */
static void add_panel(ebb_chain *chain, const ebb_layer *layer, double _Complex omega)
{
    const double h = layer->thickness;
    const double bending =
        layer->modulus * h * h * h / (12 * (1 - layer->poisson * layer->poisson));
    const double _Complex complex_bending = ebb_layers_complex(bending, bending * layer->loss);
    const double _Complex x2 =
        0.25 * layer->span * layer->span * omega * ebb_layers_root(layer->mass / complex_bending);
    double _Complex num, den;

    if (ebb_layers_abs2(x2) < 1e-3) {
        num = strip_series(x2 * x2);
        den = 1;
    } else {
        const double _Complex x = ebb_layers_root(x2);
        double _Complex sin_x, cos_x, sin_jx, cosh_x;
        ebb_layers_sincos(x, &sin_x, &cos_x);
        ebb_layers_sincos(ebb_layers_turn(x), &sin_jx, &cosh_x);
        const double _Complex sinh_x = -ebb_layers_turn(sin_jx);
        den = 2 * x * cos_x * cosh_x;
        num = sin_x * cosh_x + sinh_x * cos_x - den;
    }
    const double _Complex minus_jwm = -layer->mass * ebb_layers_turn(omega);
    chain->p = num * chain->p + den * minus_jwm * chain->v;
    chain->v = num * chain->v;
    chain->gain2 *= ebb_layers_abs2(num);
}

/* Resistive sheet; one that is free to move is dragged along: resistance and mass side by side. */
static double _Complex screen(const ebb_layer *layer, double resistance, double _Complex jw)
{
    if (layer->mass <= 0)
        return resistance;
    const double _Complex jwm = jw * layer->mass;
    return resistance * jwm / (resistance + jwm);
}

static double _Complex lumped(const ebb_layer *layer, const ebb_variation *vary, double _Complex jw)
{
    const double k = layer->stiffness * vary->stiffness;
    return jw * layer->mass + layer->resistance * vary->resistance +
           ebb_layers_complex(k, k * layer->loss) / jw;
}

void ebb_layers_fluid(const ebb_layer *layer, const ebb_air *air, const ebb_variation *vary,
                      double _Complex omega, double _Complex *density, double _Complex *modulus)
{
    if (layer->kind == EBB_LAYER_POROUS) {
        ebb_layers_porous(layer, air, layer->resistivity * vary->resistance, omega, density,
                          modulus);
        *modulus *= vary->stiffness;
        return;
    }
    if (layer->kind == EBB_LAYER_GRANULAR) {
        ebb_layers_granular(layer, air, ebb_layers_bed_resistivity(layer, air) * vary->resistance,
                            omega, density, modulus);
        *modulus *= vary->stiffness;
        return;
    }
    /* The modulus rho c^2 instead of gamma P0, which are the same for an ideal gas, so that a layer
     * of air has exactly the impedance of the room's air. */
    const double stiffness = air->density * air->speed * air->speed * vary->stiffness;
    *density = air->density;
    *modulus = ebb_layers_complex(stiffness, stiffness * layer->loss);
}

static void add_slab(ebb_chain *chain, const ebb_layer *layer, const ebb_air *air,
                     const ebb_variation *vary, double _Complex omega)
{
    double _Complex density, modulus;
    ebb_layers_fluid(layer, air, vary, omega, &density, &modulus);
    ebb_layers_add_slab(chain, layer->thickness, density, modulus, omega);
}

void ebb_layers_add(ebb_chain *chain, const ebb_layer *layer, const ebb_air *air,
                    const ebb_variation *vary, double _Complex omega)
{
    const double _Complex jw = ebb_layers_turn(omega);
    switch (layer->kind) {
    case EBB_LAYER_MASS:
        add_series(chain, jw * layer->mass);
        break;
    case EBB_LAYER_PANEL:
        if (layer->span > 0)
            add_panel(chain, layer, omega);
        else
            add_series(chain, jw * layer->mass);
        break;
    case EBB_LAYER_AIR:
    case EBB_LAYER_POROUS:
    case EBB_LAYER_GRANULAR:
        add_slab(chain, layer, air, vary, omega);
        break;
    case EBB_LAYER_SCREEN:
        add_series(chain, screen(layer, layer->resistance * vary->resistance, jw));
        break;
    case EBB_LAYER_FRONT:
        add_series(chain, ebb_layers_plate(layer->plate, vary->stiffness, omega));
        break;
    case EBB_LAYER_PERFORATED:
    case EBB_LAYER_SLITS:
        add_series(chain, ebb_layers_holes(layer, air, vary, omega));
        break;
    case EBB_LAYER_LUMPED:
        add_series(chain, lumped(layer, vary, jw));
        break;
    }
}
