"""Poses of a six-contact joint, batched, against scipy.optimize.root for each sample: python tests/benchmarks/bench_contacts.py

The joint: one ball on three flats (as in a cone), one on two (as in a vee), and a link. Every sample has its own seats and
length. scipy gets a residual written out by hand for this one joint, once with differences and once with the exact Jacobian.
A third way hands scipy the library's own misses of one sample, as one would without a batch. Ways take turns, and the best of
several rounds counts. Only the ratio is worth comparing between machines.
"""

import argparse
import time

import numpy as np
from scipy.optimize import root

from lutherie_geom.joint.contacts import Contacts, RigidPose, ball_on_flat, link

BALLS = np.array([[-3.6, -18, -20]] * 3 + [[-3.6, 18, -20]] * 2 + [[-24.0, 0, -80]])
S = 1 / np.sqrt(2)
NORMALS = np.array([[-S, S, 0], [-S, -S / 2, S * np.sqrt(0.75)], [-S, -S / 2, -S * np.sqrt(0.75)], [-S, 0, S], [-S, 0, -S]])
HEAD, REFERENCE = np.array([6.0, 0, -80]), np.array([-3.6, 0, -20])


def samples(n):
    """Seats of both balls (2, 3, n) and length of the link (n,), drawn about the joint as built [mm]."""
    rng = np.random.default_rng(5)
    seats = np.stack([BALLS[0], BALLS[3]])[..., None] + rng.normal(0, 0.2, (2, 3, n))
    return seats, 30.0 + rng.uniform(-1, 1, n)


def layout(seats, length):
    """The contacts of one sample or of many."""
    held = [ball_on_flat(f"flat {k}", ball=BALLS[k], point=tuple(seats[0 if k < 3 else 1]), normal=NORMALS[k]) for k in range(5)]
    return Contacts.of([*held, link("rod", receiver=BALLS[5], head=HEAD, length=length)], reference=REFERENCE)


def batched(seats, length):
    """Positions of the reference (n, 3) [mm] and rotations (n, 3, 3)."""
    found = layout(seats, length).solve()
    assert found.converged.all(), str(found)
    return found.pose.position, found.pose.rotation


def turn(v):
    """Cayley's rotation of half a rotation vector, and of plain floats: quicker for one sample than numpy."""
    a, b, c = v / 2
    k = 2 / (1 + a * a + b * b + c * c)
    return np.array([[1 - k * (b * b + c * c), k * (a * b - c), k * (a * c + b)],
                     [k * (a * b + c), 1 - k * (a * a + c * c), k * (b * c - a)],
                     [k * (a * c - b), k * (b * c + a), 1 - k * (a * a + b * b)]])


ARMS = (BALLS - REFERENCE).T


def one(seat, length, exact):
    """The same pose for one sample by scipy: rotation vector counted from nominal, lengths in mm."""
    points = seat[[0, 0, 0, 1, 1]]

    def miss(u):
        p = (REFERENCE + u[:3]) + (turn(u[3:]) @ ARMS).T
        return np.append(((p[:5] - points) * NORMALS).sum(axis=1), np.sqrt(((p[5] - HEAD) ** 2).sum()) - length)

    def slopes(u):
        c = u[3:] / 2
        k = 1 / (1 + c @ c)
        skew = np.array([[0, -c[2], c[1]], [c[2], 0, -c[0]], [-c[1], c[0], 0]])
        arm = (turn(u[3:]) @ ARMS).T
        rod = REFERENCE + u[:3] + arm[5] - HEAD
        force = np.vstack([NORMALS, rod / np.sqrt(rod @ rod)])
        return np.hstack([force, np.cross(arm, force) @ (k * (np.eye(3) + skew))])

    found = root(miss, np.zeros(6), jac=slopes if exact else None, tol=1e-13)
    return REFERENCE + found.x[:3], turn(found.x[3:])


def library(seat, length):
    """The same by scipy on the library's misses."""
    contacts = layout(seat, length)

    def miss(u):
        return contacts.miss(RigidPose(turn(u[3:]), REFERENCE + u[:3], REFERENCE))

    found = root(miss, np.zeros(6), tol=1e-13)
    return REFERENCE + found.x[:3], turn(found.x[3:])


WAYS = {"scipy, own misses": library,
        "scipy, by hand": lambda seat, length: one(seat, length, False),
        "scipy, by hand, slopes": lambda seat, length: one(seat, length, True)}


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("n", nargs="?", type=int, default=100_000)
    ask.add_argument("--rounds", type=int, default=3)
    ask.add_argument("--single", type=int, default=200, help="samples that scipy solves in each round")
    a = ask.parse_args()
    seats, length = samples(a.n)
    least = dict.fromkeys(("batched", *WAYS), np.inf)
    for _ in range(a.rounds):
        begun = time.perf_counter()
        position, rotation = batched(seats, length)
        least["batched"] = min(least["batched"], (time.perf_counter() - begun) / a.n)
        for name, way in WAYS.items():
            begun = time.perf_counter()
            found = [way(seats[..., i], length[i]) for i in range(a.single)]
            least[name] = min(least[name], (time.perf_counter() - begun) / a.single)
            off = max(np.abs(p - position[i]).max() + 50 * np.abs(r - rotation[i]).max() for i, (p, r) in enumerate(found))
            assert off < 1e-7, off
    print(f"{a.n} poses batched, {a.single} by scipy, best of {a.rounds} rounds")
    for name, each in least.items():
        print(f"{name:<24}{each * 1e6:10.2f} us a pose{each / least['batched']:10.0f} times the batch")


if __name__ == "__main__":
    main()
