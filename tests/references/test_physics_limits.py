"""The sensor models against closed forms, other methods and published values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve
from scipy.special import ellipe, ellipk, hyp2f1, j1, zeta

from sim.materials import MATERIALS, Material, water_permittivity
from sim.presets import SENSORS, TARGETS
from sim.sensors.capacitive import CapacitiveHead
from sim.sensors.inductive import InductiveHead
from sim.targets import EPS0_F_M, MU0_H_M, Layer, SimTarget, plate

R_MM = 9.0
HEAD = CapacitiveHead(radius_mm=R_MM)
STEEL = TARGETS["steel"]
UNIT_PF = EPS0_F_M * R_MM * 1e-3 * 1e12  # eps0 R


def change(gap_radii: float, target: SimTarget) -> float:
    """Return dC in units of eps0 R."""
    return float(HEAD.signal(np.array([gap_radii * R_MM]), target)[0]) / UNIT_PF


def half_space(permittivity: float) -> SimTarget:
    material = Material(name="x", relative_permittivity=permittivity)
    return SimTarget(name="x", layers=(), backing=material)


# --- Capacitance: limits and closed forms -------------------------------------------


def test_near_limit_is_the_plate_capacitor() -> None:
    # eps0 pi R^2 / d; the edge adds a term in (d/R) ln(R/d)
    for gap in (1e-3, 2e-3, 4e-3):
        ratio = change(gap, STEEL) * gap / np.pi
        assert abs(ratio - 1.0) < gap * np.log(1.0 / gap)
    assert change(1e-3, STEEL) * 1e-3 / np.pi == pytest.approx(1.0, abs=0.006)


def test_far_limit_holds_zeta_of_three() -> None:
    # 4 pi eps0 R zeta(3)/16 (R/d)^3: the sum of dipole images, 1/n^3 each
    limit = 4.0 * np.pi * zeta(3.0) / 16.0
    errors = [abs(change(d, STEEL) * d**3 / limit - 1.0) for d in (4.0, 7.9)]
    assert errors[1] < 0.015
    assert errors[1] < 0.3 * errors[0]  # the next term falls as 1/d^2


def image_term(p: float) -> float:
    """Return Integral_0^inf J1(u)^2 exp(-p u) du by complete elliptic integrals.

    Maxwell's mutual inductance of two coaxial circles of radius 1 at distance p, over
    mu0 pi (Treatise, section 701, from memory).
    """
    m = 4.0 / (4.0 + p * p)
    k = np.sqrt(m)
    return float((2.0 / k - k) * ellipk(m) - 2.0 / k * ellipe(m)) / np.pi


def legendre_q_half(z: float) -> float:
    """Return Q_{1/2}(z), z > 1, by its hypergeometric series (Abramowitz 8.1.3)."""
    # sqrt(pi) Gamma(3/2) / Gamma(2) / (2 z)^(3/2) F(5/4, 3/4; 2; 1/z^2)
    return float(np.pi / 2.0 * (2.0 * z) ** -1.5 * hyp2f1(1.25, 0.75, 2.0, z**-2))


@pytest.mark.parametrize("p", [0.2, 0.5, 1.0, 2.0, 5.0])
def test_image_term_three_ways(p: float) -> None:
    integral = quad(lambda u: j1(u) ** 2 * np.exp(-p * u), 0, 40 / p, limit=500)[0]
    assert image_term(p) == pytest.approx(integral, rel=1e-8)
    legendre = legendre_q_half(1.0 + p * p / 2.0) / np.pi
    assert legendre == pytest.approx(integral, rel=1e-8)


@pytest.mark.parametrize("gap", [0.05, 0.2222, 0.8889, 2.0, 6.0])
@pytest.mark.parametrize("permittivity", [2.0, 3.0, 10.0, 80.0])
def test_dielectric_half_space_is_a_sum_of_images(
    gap: float, permittivity: float
) -> None:
    k = (permittivity - 1.0) / (permittivity + 1.0)
    terms = [k**n * image_term(2.0 * n * gap) for n in range(1, 1200)]
    ours = change(gap, half_space(permittivity))
    assert ours == pytest.approx(4.0 * np.pi * sum(terms), rel=2e-6)


@pytest.mark.parametrize("gap", [0.2222, 0.8889, 2.0])
def test_earthed_metal_is_a_sum_of_images(gap: float) -> None:
    # Far off a term is 1/(16 n^3 d^3), from J1(u) ~ u/2: that sums the rest
    n = np.arange(1, 4001)
    near = sum(image_term(2.0 * i * gap) for i in n)
    rest = zeta(3.0, n[-1] + 1.0) / (16.0 * gap**3)
    ours = change(gap, STEEL)
    assert ours == pytest.approx(4.0 * np.pi * (near + rest), rel=1e-6)


@pytest.mark.parametrize("gap", [0.11, 0.4444, 0.8889, 2.6667])
def test_quadrature_against_adaptive_integration(gap: float) -> None:
    er, t = 3.2, 3.0 / R_MM
    k = (er - 1.0) / (er + 1.0)

    def integrand(u: float) -> float:
        q = np.exp(-2.0 * u * t)
        g = k * (1.0 - q) / (1.0 - k * k * q) * np.exp(-2.0 * u * gap)
        return float(j1(u) ** 2 * g / (1.0 - g))

    integral = quad(integrand, 0.0, 25.0 / gap, limit=2000, epsabs=1e-13)[0]
    ours = change(gap, plate(MATERIALS["pvc"], 3.0))
    assert ours == pytest.approx(4.0 * np.pi * integral, rel=1e-7)


# --- Capacitance: Laplace's equation in cells ---------------------------------------


def free_field(r: np.ndarray, z: float) -> np.ndarray:
    """Return -dphi/dz of a disc at 1 V in an earthed plane, radius 1, at height z.

    The disc in the plane is a layer of dipoles, so its field is that of a current
    loop (Smythe, Static and Dynamic Electricity, section 7.10, from memory).
    """
    m = 4.0 * r / ((1.0 + r) ** 2 + z * z)
    inner = (1.0 - r * r - z * z) / ((1.0 - r) ** 2 + z * z)
    root = np.sqrt((1.0 + r) ** 2 + z * z)
    return (ellipk(m) + inner * ellipe(m)) / (np.pi * root)


def laplace_change(
    gap: float, thickness: float, permittivity: float, cells: int
) -> float:
    """Return dC in eps0 R from finite volumes, axially symmetric, disc radius 1.

    Solved for what the slab adds to the known free field, whose jump of displacement
    at the slab's faces is the source; so the electrode's edge is never on the grid.
    """
    size = 1.0 / cells
    columns, rows = 8 * cells, 8 * cells
    low, high = round(gap * cells), round((gap + thickness) * cells)
    inside = np.zeros(rows, dtype=bool)
    inside[low:high] = True
    er = np.where(inside, permittivity, 1.0)
    r = (np.arange(columns) + 0.5) * size
    ring = r * size  # area of a cell's end over 2 pi
    index = np.arange(rows * columns).reshape(rows, columns)
    upper = 2.0 * er[1:] * er[:-1] / (er[1:] + er[:-1])
    vertical = upper[:, None] * ring[None, :] / size
    wall = (np.arange(1, columns) * size)[None, :] * np.ones((rows, 1)) * er[:, None]
    pairs = (
        (index[:-1], index[1:], vertical),
        (index[:, :-1], index[:, 1:], wall),
    )
    i = np.concatenate([a.ravel() for a, _, _ in pairs])
    j = np.concatenate([b.ravel() for _, b, _ in pairs])
    w = np.concatenate([c.ravel() for _, _, c in pairs])
    diagonal = np.bincount(i, w, index.size) + np.bincount(j, w, index.size)
    # Earth at the plane of the electrode, at the far top and at the far side
    floor = ring * er[0] / (size / 2.0)
    diagonal[index[0]] += floor
    diagonal[index[-1]] += ring * er[-1] / (size / 2.0)
    diagonal[index[:, -1]] += columns * size * er / 0.5
    right = np.zeros(index.size)
    for face, jump in ((low, permittivity - 1.0), (high, 1.0 - permittivity)):
        charge = jump * free_field(r, face * size) * ring
        # Divergence of (er - 1) E_free sits on the face: half to each side's cell
        # in the ratio that a charge on a face of two permittivities divides
        share = er[face] / (er[face] + er[face - 1])
        right[index[face]] -= charge * share
        right[index[face - 1]] -= charge * (1.0 - share)
    size_all = index.size
    matrix = coo_array(
        (
            np.concatenate((-w, -w, diagonal)),
            (
                np.concatenate((i, j, np.arange(size_all))),
                np.concatenate((j, i, np.arange(size_all))),
            ),
        ),
        shape=(size_all, size_all),
    ).tocsc()
    added = spsolve(matrix, right)
    under_disc = r < 1.0
    flux = -(floor * added[index[0]])[under_disc].sum()
    return float(2.0 * np.pi * flux)


@pytest.mark.parametrize(
    ("gap", "thickness", "permittivity"),
    [(0.5, 0.5, 3.0), (1.0, 0.5, 10.0), (0.5, 0.5, 1e7)],
)
def test_slab_against_laplace_in_cells(
    gap: float, thickness: float, permittivity: float
) -> None:
    target = plate(
        Material(name="x", relative_permittivity=permittivity), thickness * 9
    )
    coarse, fine = (laplace_change(gap, thickness, permittivity, n) for n in (10, 20))
    extrapolated = fine + (fine - coarse) / 3.0
    assert change(gap, target) == pytest.approx(extrapolated, rel=5e-3)


# --- Inductance ---------------------------------------------------------------------


def test_perfect_conductor_is_the_image_loop() -> None:
    # dL = -M(a, a, 2 d), M by Maxwell's elliptic integrals
    head = InductiveHead(radius_mm=3.0)
    perfect = Material(name="x", conductivity_s_m=1e16, is_metal=True)
    for gap_mm in (0.5, 1.5, 3.0, 9.0):
        change_ohm = head.impedance_change(np.array([gap_mm]), plate(perfect, 5.0))[0]
        inductance = change_ohm.imag / (2 * np.pi * head.frequency_hz)
        mutual = MU0_H_M * np.pi * 3e-3 * image_term(2.0 * gap_mm / 3.0)
        assert inductance == pytest.approx(-mutual, rel=1e-4)


def loop_potential(r: float, z: float) -> float:
    """Return A_phi / mu0 of a loop of radius 1 with 1 A (Jackson 5.37, from memory)."""
    m = 4.0 * r / ((1.0 + r) ** 2 + z * z)
    bracket = (2.0 - m) * ellipk(m) - 2.0 * ellipe(m)
    return float(bracket / (np.pi * m * np.sqrt((1.0 + r) ** 2 + z * z)))


def test_low_conductivity_is_the_loss_of_the_free_field() -> None:
    # R = sigma omega^2 Integral A^2 dV: no reaction of the currents on the field
    a_mm, gap, thickness = 3.0, 0.5, 1.0
    head = InductiveHead(radius_mm=a_mm)
    conductivity = 100.0  # skin depth 92 mm at 300 kHz, against 3 mm
    poor = Material(name="x", conductivity_s_m=conductivity)

    def density(x: float, z: float) -> float:  # r = x / (1 - x) maps 0..1 to 0..inf
        r = x / (1.0 - x)
        return 2 * np.pi * r * loop_potential(r, z) ** 2 / (1.0 - x) ** 2

    volume = dblquad(
        density, gap, gap + thickness, 1e-9, 1 - 1e-6, epsabs=1e-7, epsrel=1e-5
    )[0]
    omega = 2 * np.pi * head.frequency_hz
    loss_ohm = conductivity * omega**2 * MU0_H_M**2 * volume * (a_mm * 1e-3) ** 3
    ours = head.signal(np.array([gap * a_mm]), plate(poor, thickness * a_mm))[0]
    assert ours == pytest.approx(loss_ohm, rel=2e-3)


# Skin depths in um at 100 kHz, 300 kHz and 1 MHz. Conductivities and permeabilities
# from training tables for non-destructive testing, in a public reproduction; depths by
# 1/sqrt(pi f mu0 mur sigma), computed apart.
SKIN_DEPTHS = [
    (58.0, 1, 209.0, 120.7, 66.09),
    (59.6, 1, 206.2, 119.0, 65.19),
    (37.67, 1, 259.3, 149.7, 82.01),
    (16.24, 1, 394.9, 228.0, 124.9),
    (1.45, 1, 1321.7, 763.1, 418.0),
    (100 / 14.9, 109, 58.84, 33.97, 18.61),
    (100 / 16.2, 141, 53.95, 31.15, 17.06),
]


@pytest.mark.parametrize("row", SKIN_DEPTHS)
def test_field_decays_over_the_skin_depth(row) -> None:
    conductivity_ms_m, permeability, *depths_um = row
    metal = Material(
        name="x",
        conductivity_s_m=conductivity_ms_m * 1e6,
        relative_permeability=permeability,
        is_metal=True,
    )
    # Read from the model: at wavenumber 0 the field inside a plate varies as
    # exp(-(1 + j) z / depth), so a plate's reflection differs from that of solid metal
    # in proportion to exp(-2 (1 + j) t / depth).
    uniform = np.array([1e-4])  # per mm: 63 m of wave, against a millimetre of skin
    solid = SimTarget(name="x", layers=(), backing=metal)
    for frequency_hz, depth_um in zip((1e5, 3e5, 1e6), depths_um, strict=True):
        differences = []
        for t_um in (4.5 * depth_um, 5.0 * depth_um):
            sheet = SimTarget(
                name="x", layers=(Layer(material=metal, thickness_mm=t_um * 1e-3),)
            )
            differences.append(
                (1 + sheet.magnetic_reflection(uniform, frequency_hz)[0])
                / (1 + solid.magnetic_reflection(uniform, frequency_hz)[0])
                - 1
            )
        ratio = abs(differences[1] / differences[0])
        measured_um = -2.0 * 0.5 * depth_um / np.log(ratio)
        assert measured_um == pytest.approx(depth_um, rel=1e-3)


# --- Materials ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("temperature_c", "permittivity"),
    [(0, 87.740), (20, 80.103), (25, 78.303), (30, 76.545), (100, 55.720)],
)
def test_water_permittivity(temperature_c: float, permittivity: float) -> None:
    # Malmberg and Maryott, J. Res. NBS 56, RP2641 (1956): the formula is published
    # with 78.30 at 25 degC; the other values were computed from it apart from this code
    assert water_permittivity(temperature_c) == pytest.approx(permittivity, abs=1e-3)


def test_permittivities_are_in_the_order_of_the_tables() -> None:
    # Ranges of public tables overlap, the order does not: no digit is tested
    order = ["pe", "pvc", "glass", "water"]
    values = [MATERIALS[name].relative_permittivity for name in order]
    assert values == sorted(values)
    assert len(set(values)) == len(values)


# --- What the trade says: common practice, no source --------------------------------


def operate_mm(sensor: str, target: str) -> float:
    gap = SENSORS[sensor].response(TARGETS[target]).operate_gap_mm
    assert gap is not None
    return gap


METALS = ["steel", "stainless", "brass", "aluminium", "copper"]


@pytest.mark.parametrize("metal", METALS)
def test_capacitive_sees_earthed_metals_at_one_distance(metal: str) -> None:
    assert operate_mm("capacitive", metal) == pytest.approx(8.0, rel=0.03)
    response = SENSORS["capacitive"].response(TARGETS[metal])
    assert response.operate_gap_mm is not None
    assert response.release_gap_mm is not None
    travel = response.release_gap_mm / response.operate_gap_mm - 1.0
    assert 0.10 <= travel <= 0.20


@pytest.mark.parametrize("name", ["pvc", "cardboard", "plywood"])
def test_capacitive_sees_thin_insulators_at_a_third_to_a_half(name: str) -> None:
    factor = operate_mm("capacitive", name) / operate_mm("capacitive", "steel")
    assert 1 / 3 <= factor <= 1 / 2


def test_capacitive_sees_water_nearly_as_metal() -> None:
    factor = operate_mm("capacitive", "water") / operate_mm("capacitive", "steel")
    assert 0.95 <= factor <= 1.0


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("steel", 1.0, 1.0),
        ("stainless", 0.6, 0.85),
        ("brass", 0.35, 0.5),
        ("aluminium", 0.3, 0.45),
        ("copper", 0.25, 0.4),
    ],
)
def test_inductive_reduction_factors(name: str, low: float, high: float) -> None:
    factor = operate_mm("inductive", name) / operate_mm("inductive", "steel")
    assert low <= factor <= high
