/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/layers.h - layers, assemblies and what they do to sound. Walls and absorbers are both
 * assemblies, computed by the same code.
 *
 * An assembly is an ordered stack of layers, from the room inwards, and a back. Its surface
 * impedance Z is the ratio of pressure to velocity into it at the room face. Every function takes
 * a complex angular frequency omega = 2 pi f + j delta (e^{+j omega t} then decays as e^{-delta t}
 * for delta > 0), because damped room modes live there; all formulas are analytic for
 * Re omega > 0. Reading a table at complex omega continues the table analytically from the real
 * axis by its local interpolating polynomial.
 */
#ifndef EBB_LAYERS_H
#define EBB_LAYERS_H

#include <ebb/air.h>

#ifndef __cplusplus
#include <complex.h>

typedef enum ebb_layer_kind {
    EBB_LAYER_MASS,   /* limp mass: j w m */
    EBB_LAYER_PANEL,  /* board or plate: mass, and bending between supports when span > 0 */
    EBB_LAYER_AIR,    /* air gap, undamped but for loss */
    EBB_LAYER_POROUS, /* porous layer */
    EBB_LAYER_SCREEN, /* thin resistive sheet, with its own mass if free to move */
    EBB_LAYER_LUMPED, /* mass on spring and damper, in series; as the last layer before a rigid back
                       * its spring stands on that back (a complete resonator) */
    EBB_LAYER_GRANULAR,   /* bed of porous grains that take up gas: activated carbon */
    EBB_LAYER_PERFORATED, /* sheet with round holes, also micro-perforated */
    EBB_LAYER_SLITS,      /* sheet or joint with straight slits: a leak */
    EBB_LAYER_FRONT       /* panel that bends, on a compliant rim (ebb/cabinet.h) */
} ebb_layer_kind;

typedef enum ebb_porous_model {
    EBB_POROUS_JCA,  /* Johnson-Champoux-Allard, rigid frame */
    EBB_POROUS_LIMP, /* the same with a limp frame of given bulk density (Panneton 2007) */
    EBB_POROUS_MIKI  /* Miki 1990; warned outside 0.01 < f/sigma < 1 */
} ebb_porous_model;

/*
 * A batch of porous grains (activated carbon and the like). Three scales: air between the grains,
 * transport pores in a grain through which pressure diffuses, and fine pores that take up gas;
 * after the structure of Venegas and Umnova 2016 (J. Acoust. Soc. Am. 140, 755-766) in a compact
 * form of our own (docs/absorbers.md). Batches differ by a factor of six: measure yours.
 */
typedef struct ebb_grains {
    double diameter;     /* m, of a grain */
    double bed_porosity; /* 0..1, air between the grains over volume */
    double pore_share;   /* 0..1, transport pores over grain volume */
    double uptake;       /* R T dn/dP at 1 atm: gas stored by sorption over that in as much free
                          * volume; 0 for grains that do not sorb */
    double pore_radius;  /* m, of the transport pores */
    double tortuosity;   /* >= 1, of the transport pores */
    double sorption_hz;  /* Hz, above which sorption no longer follows */
    double bed_density;  /* kg/m3, for the weight */
} ebb_grains;

typedef struct ebb_plate ebb_plate;     /* ebb/cabinet.h */
typedef struct ebb_cabinet ebb_cabinet; /* ebb/cabinet.h */

/* One layer. Fields that a kind does not use are 0. Plain data. */
typedef struct ebb_layer {
    ebb_layer_kind kind;
    double thickness;   /* m: panel, air, porous, granular; perforated and slits: of the sheet */
    double mass;        /* kg/m2: mass, panel, screen, lumped; perforated: of the whole sheet when
                         * it is free to move, 0 held still */
    double modulus;     /* Pa, Young's modulus: panel with span */
    double poisson;     /* panel with span */
    double loss;        /* loss factor: panel, lumped spring, air (compressibility) */
    double span;        /* m between supports, 0 = no bending: panel */
    double resistance;  /* Pa s/m: screen, lumped */
    double stiffness;   /* Pa/m: lumped */
    double resistivity; /* Pa s/m2: porous */
    double porosity;    /* 0..1: porous */
    double tortuosity;  /* >= 1: porous */
    double viscous_length; /* m: porous, 0 = from sigma and porosity (cylindrical pores) */
    double thermal_length; /* m: porous, 0 = twice the viscous length */
    double frame_density;  /* kg/m3 bulk, limp porous */
    ebb_porous_model model;
    double opening;         /* m: diameter of the holes (perforated), width of the slits (slits) */
    double open_share;      /* 0..1, open area over area: perforated, slits */
    ebb_grains grains;      /* granular; resistivity 0 = from grain size and porosity */
    const ebb_plate *plate; /* front; borrowed */
} ebb_layer;

typedef enum ebb_back {
    EBB_BACK_RIGID,    /* nothing moves behind the last layer */
    EBB_BACK_OUTDOORS, /* free air behind: Z = rho c */
    EBB_BACK_ROOM      /* another room: Z = rho c, the transmitted part is lost to it */
} ebb_back;

typedef enum ebb_assembly_kind {
    EBB_ASSEMBLY_LAYERS,   /* layers and back */
    EBB_ASSEMBLY_CONSTANT, /* admittance beta0 at every frequency */
    EBB_ASSEMBLY_TABLE,    /* impedance table over frequency */
    EBB_ASSEMBLY_CABINET   /* box with fronts, cells and fill (ebb/cabinet.h) */
} ebb_assembly_kind;

/* An assembly. Arrays are borrowed (normally from a job's arena). Plain data. */
typedef struct ebb_assembly {
    ebb_assembly_kind kind;
    size_t n_layers;
    const ebb_layer *layers; /* from the room inwards */
    ebb_back back;
    double _Complex beta0; /* EBB_ASSEMBLY_CONSTANT: the admittance; EBB_ASSEMBLY_LAYERS: what
                            * joints, edges and leaks take in parallel with the layers */
    size_t n_table;
    const double *table_hz;         /* rising */
    const double _Complex *table_z; /* normalised impedance Z/(rho c) */
    const ebb_cabinet *cabinet;     /* EBB_ASSEMBLY_CABINET: prepared; referred to its outer face */
} ebb_assembly;

/*
 * How an assembly is varied by the draws of what is not known. All factors are 1 when nothing is
 * varied. They multiply: lumped and cavity stiffness, resistances and resistivity, and the final
 * admittance.
 */
typedef struct ebb_variation {
    double stiffness;
    double resistance;
    double admittance;
} ebb_variation;

/* Nothing varied: all factors 1. */
EBB_API extern const ebb_variation EBB_NO_VARIATION;

/* Checks fields against their ranges (mass > 0, porosity in (0,1], ...): EBB_E_RANGE with a text
 * that names layer and field. */
EBB_API ebb_status ebb_assembly_check(ebb_ctx *ctx, const ebb_assembly *assembly);

/*
 * Normalised admittance beta = rho c / Z at normal incidence, at complex angular frequency omega
 * (rad/s, Re omega > 0). `vary` may be NULL. Never fails for a checked assembly; passive for real
 * omega: Re beta >= 0. Outside a table the nearest end value holds (ebb_assembly_range tells).
 */
EBB_API double _Complex ebb_assembly_beta(const ebb_assembly *assembly, const ebb_air *air,
                                          const ebb_variation *vary, double _Complex omega);

/* Absorption coefficient at normal incidence, at hz > 0: 4 Re z / |z+1|^2. */
EBB_API double ebb_assembly_alpha(const ebb_assembly *assembly, const ebb_air *air, double hz);

/* Random-incidence absorption 0..90 degrees for a locally reacting surface of admittance beta
 * (Paris' integral; closed form for complex z). Range 0..0.951. */
EBB_API double ebb_alpha_diffuse(double _Complex beta);

/*
 * Absorption coefficient of an unbounded surface at `angle` from the normal (0 <= angle < pi/2
 * radians), at hz > 0. `bulk`: sound travels along inside the layers too (bulk-reacting: every
 * fluid layer with its wave number across, kz = sqrt(k^2 - k0^2 sin^2 angle)); false: locally
 * reacting, Z at normal incidence. Constant and tabulated assemblies and cabinets are local in any
 * case.
 */
EBB_API double ebb_assembly_oblique(const ebb_assembly *assembly, const ebb_air *air, double hz,
                                    double angle, bool bulk);

/* Random-incidence absorption up to `limit` radians (pi/2, or 78 degrees for field incidence) by
 * 64-point Gauss quadrature of alpha sin(2 angle), divided by sin^2(limit). */
EBB_API double ebb_assembly_diffuse(const ebb_assembly *assembly, const ebb_air *air, double hz,
                                    double limit, bool bulk);

/* Absorption coefficient from an admittance at normal incidence: 4 Re beta/|1 + beta|^2. */
EBB_API double ebb_alpha_normal(double _Complex beta);

/* Ratio of transmitted to incident power at normal incidence at hz, 0 for a rigid back. */
EBB_API double ebb_assembly_transmitted(const ebb_assembly *assembly, const ebb_air *air,
                                        double hz);

/* Mass per area of all layers (porous layers with frame_density times thickness), kg/m2. */
EBB_API double ebb_assembly_mass(const ebb_assembly *assembly);

/* Frequency range within which all formulas of the assembly hold: *low, *high in Hz (0 and
 * INFINITY when unlimited), and in *why the limiting formula (constant string) or NULL. */
EBB_API void ebb_assembly_range(const ebb_assembly *assembly, double *low, double *high,
                                const char **why);

#endif /* !__cplusplus */
#endif
