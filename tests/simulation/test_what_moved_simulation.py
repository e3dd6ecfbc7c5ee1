"""Why no order by what moved is offered: it holds in calm air, and not in wind."""

from __future__ import annotations

from simulation.what_moved import SETTINGS, looked_through, measured, stands_before


def test_a_moving_animal_stands_out_in_calm_air_only() -> None:
    calm, wind = (measured(SETTINGS[name], 20)[0] for name in ("calm, day", "wind"))
    assert stands_before(*calm) > 0.95
    assert looked_through(*calm) < 0.2
    assert looked_through(*wind) > 0.4
