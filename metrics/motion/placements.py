"""How movement and stillness show at each place that a sensor can sit."""

from collections.abc import Mapping
from dataclasses import replace

from .states import Settings

SETTINGS: Mapping[str, Settings] = {
    # The floor under the wheels is the signal: vibration of 4 to 12 Hz (tables 7.20) passes means of 0.04 s, most of a
    # parked motor's hum does not. On a gym floor it may be 10 mg over a hum of 6, so the threshold lies closer to the
    # floor than the 2 to 3 times of tables 7.13: half a second of noise varies by a tenth, 1.5 is five deviations away.
    "frame": Settings(
        step_s=0.04,
        smooth_s=0.04,
        least_mg=3.5,
        factor=1.5,
        most_mg=0.0,
        floor_most_mg=8.0,
        rest_most_mg=60.0,
        wander=1.25,
        noise_from_mg=5.0,
    ),
    # A hand is never quite still and may tremble at 4 to 12 Hz with 20 mg: means of 0.15 s take most of that out. What
    # is left comes and goes, so the threshold lies higher. A standing person's hand shows 20 to 100 mg: up to 40 mg may
    # be its stillness.
    "wrist": Settings(
        step_s=0.05,
        smooth_s=0.15,
        least_mg=12.0,
        factor=3.0,
        most_mg=40.0,
        floor_most_mg=40.0,
        rest_most_mg=100.0,
        wander=1.5,
    ),
    # Gravity itself turns with the crank: even 20 turns a minute show 300 mg, and nothing small is a turn.
    "crank": Settings(
        step_s=0.05,
        smooth_s=0.05,
        least_mg=25.0,
        factor=3.0,
        most_mg=100.0,
        floor_most_mg=40.0,
        rest_most_mg=100.0,
        wander=2.0,
    ),
    # Arm work moves the trunk little; breathing tilts it by some 10 mg within two seconds, 3 mg within the window. A
    # standing trunk sways: see ``standing``.
    "trunk": Settings(
        step_s=0.05,
        smooth_s=0.15,
        least_mg=6.0,
        factor=1.8,
        most_mg=10.0,
        floor_most_mg=20.0,
        rest_most_mg=60.0,
        wander=1.5,
        noise_from_mg=3.3,
    ),
}
_IN_NOISE = {"floor_most_mg": 40.0, "window_s": 0.7, "keep": 0.9, "lull_s": 0.4, "edge_smooth_s": 0.0, "growing": 0.2}
NOISE: Mapping[str, Settings] = {
    # Where the stillness is the sensor's own noise, no tremor, breath or motor comes and goes in it, and the threshold
    # may lie nearer to it. Within 0.7 s the level of noise varies by a tenth, by a fifth under the running mean that a
    # trunk needs: both factors are three deviations away, and what is louder by luck seldom lasts a second.
    "frame": replace(SETTINGS["frame"], factor=1.3, **_IN_NOISE),
    "trunk": replace(SETTINGS["trunk"], factor=1.6, smooth_s=0.2, **_IN_NOISE),
}
