# SPDX-License-Identifier: GPL-3.0-or-later
"""The box of bench_absorber written straight in numpy: the same model by other means.

Plates: Ritz method with Legendre polynomials from numpy, dynamic stiffness solved at every
frequency, no modes. Network: nodal admittances of all branches, solved as a linear system. Reads
the numbers that bench_absorber wrote; prints the shortest time of several, then re and im of
rho c/Z.
"""
import sys
import time

import numpy as np
from numpy.polynomial import legendre

HZ = 20 + 0.9 * np.arange(200)
JW = 2j * np.pi * HZ
SHARE = {"gap": 0.06, "gap_wool": 0.03, "wool": 0.1, "grains": 10.0}
FACE, DEPTH, WALL, FRONTS, RIM, TRIM = (0.6, 1.2), 0.3, 0.015, (0.006, 0.009), 0.02, (0.0, 1.0)


def read(path):
    with open(path, encoding="utf-8") as f:
        return [[float(x) for x in line.split()] for line in f]


def line(n):
    """Integrals over sqrt(4 i + 1) P_2i on -1..1, halved; values and slopes at the end."""
    nodes, weights = legendre.leggauss(2 * n + 2)
    f = [legendre.Legendre.basis(2 * i) * np.sqrt(4 * i + 1) for i in range(n)]
    value = [np.array([g.deriv(k)(nodes) if k else g(nodes) for g in f]) for k in range(3)]
    def product(a, b):
        return 0.5 * (value[a] * weights) @ value[b].T
    edge = np.array([g(1.0) for g in f])
    slope = np.array([g.deriv()(1.0) for g in f])
    return product, edge, slope


def plate(side, board, thickness, added, mount, order):
    """Mean velocity per pressure difference at all frequencies."""
    density, modulus, nu, loss = board
    stiffness, rotation, rim_loss = mount
    mass = density * thickness + added
    bending = modulus * thickness**3 / (12 * (1 - nu**2))
    product, edge, slope = line(order)
    x, y, one = 2 / side[0], 2 / side[1], np.eye(order)
    second = product(0, 2)
    k = bending * (x**4 * np.kron(product(2, 2), one) + y**4 * np.kron(one, product(2, 2)) +
                   x**2 * y**2 * (nu * (np.kron(second.T, second) + np.kron(second, second.T)) +
                                  2 * (1 - nu) * np.kron(product(1, 1), product(1, 1))))
    hold, turn = np.outer(edge, edge), np.outer(slope, slope)
    r = (x * np.kron(stiffness * hold + rotation * x**2 * turn, one) +
         y * np.kron(one, stiffness * hold + rotation * y**2 * turn))
    total = (k * (1 + 1j * loss) + r * (1 + 1j * rim_loss)) / mass
    e = np.zeros(order**2)
    e[0] = 1
    dynamic = total[None] + (JW**2)[:, None, None] * np.eye(order**2)
    return JW / mass * np.linalg.solve(dynamic, np.broadcast_to(e[:, None], (len(HZ), len(e), 1)))[
        :, 0, 0]


def jca(air, sigma, phi, tort, thermal=None):
    rho, c, _, gamma, eta, prandtl = air
    viscous2 = 8 * tort * eta / (sigma * phi)
    thermal2 = thermal**2 if thermal else 4 * viscous2
    root = np.sqrt(1 + 4 * tort**2 * eta * rho * JW / (sigma**2 * viscous2 * phi**2))
    density = tort * rho / phi * (1 + sigma * phi / (JW * rho * tort) * root)
    heat = 1 + 8 * eta / (JW * thermal2 * prandtl * rho) * np.sqrt(
        1 + JW * rho * prandtl * thermal2 / (16 * eta))
    return density, rho * c**2 / phi / (gamma - (gamma - 1) / heat)


def grains(air, batch):
    d, phi, share, uptake, radius, tort, sorption, _ = batch
    sigma = 180 * air[4] * (1 - phi)**2 / (phi**3 * d**2)
    density, modulus = jca(air, sigma, phi, phi**-0.5, phi * d / (3 * (1 - phi)))
    pressure = air[0] * air[1]**2 / air[3]
    stored = share + uptake / (1 + JW / (2 * np.pi * sorption))
    q = d / 2 * np.sqrt(JW * air[4] * stored * 8 * tort / (share * radius**2 * pressure))
    filled = 3 * (q / np.tanh(q) - 1) / q**2
    return density, 1 / (1 / modulus + (1 - phi) * stored * filled / pressure)


def slab(density, modulus, thickness, area):
    k = -1j * JW * np.sqrt(density / modulus)
    z = np.sqrt(density * modulus) / area
    return np.array([[np.cos(k * thickness), 1j * z * np.sin(k * thickness)],
                     [1j * np.sin(k * thickness) / z, np.cos(k * thickness)]])


def two_port(matrices):
    """Admittances y11, y12, y22 (symmetric) of slabs one behind the other."""
    t = np.moveaxis(np.broadcast_to(np.eye(2)[:, :, None], (2, 2, len(HZ))), 2, 0)
    for m in matrices:
        t = t @ np.moveaxis(m, 2, 0)
    return t[:, 1, 1] / t[:, 0, 1], -1 / t[:, 0, 1], t[:, 0, 0] / t[:, 0, 1]


def walls(board, shaft, cavity):
    """Volume velocity per pressure of back, sides, top and bottom; one brace halves the height."""
    width, height = shaft[0], shaft[1] / 2
    bending = board[1] * WALL**3 / (12 * (1 - board[2]**2))
    made = []
    for count, a, b in ((2, width, height), (4, height, cavity), (2, width, cavity)):
        short = min(a, b)
        mount = (1e6 * bending / short**3, 1e2 * bending / short, board[3])
        made.append(count * a * b * plate((a, b), board, WALL, 0, mount, 6))
    return made[0], 0.5 * (made[1] + made[2])


def box(data):
    air, board, wool, batch, strip = data
    shaft = (FACE[0] - 2 * WALL, FACE[1] - 2 * WALL)
    side, area = [s - 2 * RIM for s in shaft], shaft[0] * shaft[1]
    mount = (strip[2] * (strip[1] / strip[0])**3, 0, strip[3])
    front = [side[0] * side[1] * plate(side, board, h, m, mount, 8) for h, m in zip(FRONTS, TRIM)]
    free = (air[0] + 0 * JW, air[0] * air[1]**2 * (1 + 0.005j) + 0 * JW)
    felt, bed = jca(air, *wool), grains(air, batch)
    cavity = DEPTH - WALL - sum(FRONTS) - SHARE["gap"]
    deep = SHARE["grains"] / (batch[7] * area)
    g = two_port([slab(*free, SHARE["gap"] - SHARE["gap_wool"], area),
                  slab(*felt, SHARE["gap_wool"], area)])
    c = two_port([slab(*free, cavity - SHARE["wool"] - deep, area),
                  slab(*felt, SHARE["wool"], area), slab(*bed, deep, area)])
    back, flank = walls(board, shaft, cavity)
    y = np.zeros((len(HZ), 4, 4), complex)  # nodes A, B, C, E; the room is at 1 Pa
    y[:, 0, 0], y[:, 0, 1] = front[0] + g[0], g[1]
    y[:, 1, 0], y[:, 1, 1], y[:, 1, 2] = g[1], g[2] + front[1], -front[1]
    y[:, 2, 1], y[:, 2, 2], y[:, 2, 3] = -front[1], front[1] + c[0] + flank, c[1]
    y[:, 3, 2], y[:, 3, 3] = c[1], c[2] + flank + back
    room = np.stack([front[0], 0 * back, flank, flank + back], axis=1)
    p = np.linalg.solve(y, room[:, :, None])[:, :, 0]
    return air[0] * air[1] / (FACE[0] * FACE[1]) * np.sum(room * (1 - p), axis=1)


def main():
    data = read(sys.argv[1])
    best, beta = np.inf, None
    for _ in range(5):
        begin = time.perf_counter()
        beta = box(data)
        best = min(best, time.perf_counter() - begin)
    print(f"{best:.9g}")
    for b in beta:
        print(f"{b.real:.17g} {b.imag:.17g}")


main()
