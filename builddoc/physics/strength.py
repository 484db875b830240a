"""Pressure that the wall of a pipe, tube or cylinder holds. SI units; stresses in Pa.

All are static figures for straight, plain walls: no shock, corrosion, bending or welding beyond what a formula names.
"""

from __future__ import annotations

import numpy as np

from .values import Value, plain


def barlow(outside: Value, wall: Value, stress: Value) -> Value:
    """Barlow's formula on the outside diameter, p = 2 S t/D [1]_.

    Parameters
    ----------
    outside : float or array
        Outside diameter, [m]
    wall : float or array
        Wall thickness, [m]
    stress : float or array
        Stress that the wall may bear: yield, tensile, or either over a safety factor, [Pa]

    Returns
    -------
    p : float or array
        [Pa]

    Notes
    -----
    For thin walls (t < D/6); on the safe side for thicker ones.

    References
    ----------
    .. [1] Barlow's formula on an engineering reference site: 8.625 in pipe, wall 0.5 in, 30 000 psi: 3478 psi.

    Examples
    --------
    >>> round(barlow(8.625, 0.5, 30000.0))
    3478
    """
    return 2.0 * stress * wall / outside


def thin_wall(inside: Value, wall: Value, stress: Value) -> Value:
    """Thin-wall formula on the inside diameter, p = 2 S t/d; elementary strength of materials.

    >>> round(thin_wall(0.024, 0.002, 379e6 / 8) / 1e5, 1)
    79.0
    """
    return 2.0 * stress * wall / inside


def thin_wall_stress(inside: Value, wall: Value, pressure: Value) -> Value:
    """Mean hoop stress [Pa] of a thin wall, p d/(2 t); elementary strength of materials.

    >>> thin_wall_stress(0.2, 0.05, 14e6) / 1e6
    28.0
    """
    return pressure * inside / (2.0 * wall)


def thin_wall_thickness(inside: Value, pressure: Value, stress: Value) -> Value:
    """Wall [m] that holds a pressure [Pa] at a mean hoop stress [Pa], p d/(2 S); the inverse of `thin_wall`.

    >>> round(thin_wall_thickness(0.75, 490500.0, 20e6) * 1e3, 3)
    9.197
    """
    return pressure * inside / (2.0 * stress)


def lame(outside: Value, wall: Value, stress: Value) -> Value:
    """Lame's formula, highest hoop stress at the bore, p = S (D2 - d2)/(D2 + d2) [1]_.

    Parameters
    ----------
    outside, wall : float or array
        Outside diameter and wall, [m]
    stress : float or array
        Allowable stress, [Pa]

    Returns
    -------
    p : float or array
        [Pa]

    Notes
    -----
    For any wall. With 12 500 psi (86.2 MPa) it gives the reference pressures of steel tube SAE J524 and J525, about a
    quarter of the burst pressure.

    References
    ----------
    .. [1] A tube maker's technical data: 12 500 psi, 1/2 x 0.065 in tube: 3650 psi.

    Examples
    --------
    >>> round(lame(0.5, 0.065, 12500.0))
    3654
    """
    bore = outside - 2.0 * wall
    return stress * (outside**2 - bore**2) / (outside**2 + bore**2)


def lame_stress(outside: Value, wall: Value, pressure: Value) -> Value:
    """Hoop stress [Pa] at the bore of a thick cylinder, the inverse of `lame`.

    >>> round(lame_stress(0.3, 0.05, 14e6) / 1e6, 1)
    36.4
    """
    bore = outside - 2.0 * wall
    return pressure * (outside**2 + bore**2) / (outside**2 - bore**2)


def pipe(
    outside: Value, wall: Value, stress: Value, thread_depth: Value = 0.0, mill: Value = 0.125, y: Value = 0.4
) -> Value:
    """Allowable pressure of straight pipe by ASME B31.3, 304.1.2 [1]_, plain or threaded.

    .. math:: p = \\frac{2 S t}{D - 2 Y t}, \\quad t = (1 - m) t_{nom} - h

    Parameters
    ----------
    outside, wall : float or array
        Outside diameter and nominal wall, [m]
    stress : float or array
        Allowable stress times joint factor, S E, [Pa]
    thread_depth : float or array, optional
        Depth of a thread cut into the wall, see `npt_depth`, [m]
    mill : float or array, optional
        Share by which the wall may be under its nominal size, [-]
    y : float or array, optional
        Coefficient Y (0.4 for steel below 482 degC), [-]

    Returns
    -------
    p : float or array
        [Pa]; 0 where the thread leaves no wall

    Notes
    -----
    For t < D/6; above that the standard asks for more than this formula. No allowance for corrosion.

    References
    ----------
    .. [1] Rating table on a piping reference site after ASME B31.3: NPS 1/2 schedule 40 at 204 degC, 34.5 MPa.

    Examples
    --------
    >>> round(pipe(0.0213, 0.00277, 137.9e6) / 1e6, 1)
    34.5
    """
    t = np.maximum((1.0 - mill) * np.asarray(wall, dtype=float) - thread_depth, 0.0)
    return plain(2.0 * stress * t / (outside - 2.0 * y * t))


def npt_depth(threads_per_inch: Value) -> Value:
    """Depth [m] of an NPT thread, 0.8 of the pitch (ASME B1.20.1, tables seen).

    >>> round(npt_depth(14) * 1e3, 2)
    1.45
    """
    return 0.8 * 0.0254 / threads_per_inch


def din2413_static(outside: Value, wall: Value, yield_stress: Value, under: Value = 0.1, safety: Value = 1.5) -> Value:
    """Design pressure of steel tube under steady load, DIN 2413 case I [1]_: p = 2 K c t/(S D).

    Parameters
    ----------
    outside, wall : float or array
        Outside diameter and nominal wall, [m]
    yield_stress : float or array
        Yield stress K (E235: 235 MPa), [Pa]
    under : float or array, optional
        Share by which the wall may be under its nominal size, [-]
    safety : float or array, optional
        Safety factor S, [-]

    Returns
    -------
    p : float or array
        [Pa]

    Notes
    -----
    For outside over inside diameter up to 2.

    References
    ----------
    .. [1] A tube maker's catalogue of 2011, E235N tube EN 10305-4, 33 sizes from 20 to 38 mm: all within 0.5 bar.

    Examples
    --------
    >>> round(din2413_static(0.020, 0.002, 235e6) / 1e5)
    282
    """
    return 2.0 * yield_stress * (1.0 - under) * wall / (safety * outside)


def din2413_dynamic(
    outside: Value, wall: Value, fatigue_stress: Value, under: Value = 0.1, safety: Value = 1.5
) -> Value:
    """Design pressure of steel tube under pulsing load, DIN 2413 case III [1]_: p = 2 K c t/(S (D + c t)).

    Parameters are those of `din2413_static`; `fatigue_stress` is the pulsing strength (E235: 225 MPa).

    References
    ----------
    .. [1] As for `din2413_static`.

    Examples
    --------
    >>> round(din2413_dynamic(0.020, 0.002, 225e6) / 1e5)
    248
    """
    t = (1.0 - under) * wall
    return 2.0 * fatigue_stress * t / (safety * (outside + t))


def fitting_tube(outside: Value, wall: Value, stress: Value, under: Value = 0.1, over: Value = 0.127e-3) -> Value:
    """Allowable pressure of tube for fittings: least wall, largest outside diameter; ASME B31.3 form for thin walls,
    Lame's for thick ones (t >= D/6) [1]_.

    Parameters
    ----------
    outside, wall : float or array
        Nominal outside diameter and wall, [m]
    stress : float or array
        Allowable stress (annealed stainless steel: 20 000 psi = 137.9 MPa), [Pa]
    under : float or array, optional
        Share by which the wall may be under its nominal size (0.15 below 1/2 in outside), [-]
    over : float or array, optional
        Amount by which the outside diameter may be over its nominal size, [m]

    Returns
    -------
    p : float or array
        [Pa]

    References
    ----------
    .. [1] Two suppliers' tables of stainless tube ASTM A269: within 2 % of this formula. Tolerances from memory.

    Examples
    --------
    >>> round(fitting_tube(0.0127, 0.001651, 137.9e6) / 6894.757, -1)
    5110.0
    """
    t = (1.0 - under) * np.asarray(wall, dtype=float)
    d = np.asarray(outside, dtype=float) + over
    return plain(np.where(t < d / 6.0, pipe(d, t, stress, mill=0.0), lame(d, t, stress)))
