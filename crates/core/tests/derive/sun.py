"""Reference numbers for tests/truth_sun.rs: sun positions, clear sky, split, tilt, cells, power, one clear day.

Run with pvlib 0.16.1 (BSD-3-Clause): `python sun.py`. Positions by its implementation of the NREL SPA (Reda and
Andreas 2003); everything else by the functions named in each line.
"""
import numpy as np
import pandas as pd
import pvlib
from pvlib import irradiance, pvsystem, temperature
from pvlib.solarposition import spa_python

SITE = dict(latitude=48.0, longitude=11.0, altitude=500)
TILT, AZIMUTH, ALBEDO, AIR, WIND, GAMMA = 40, 180, 0.2, 25.0, 1.5, -0.0035


def at(text):
    return pd.DatetimeIndex([text])


def position(text, lat, lon, height, hpa, celsius, delta_t):
    p = spa_python(at(text), lat, lon, height, pressure=hpa * 100, temperature=celsius, delta_t=delta_t)
    row = p.iloc[0]
    return [round(float(row[c]), 6) for c in ("zenith", "apparent_zenith", "azimuth")]


def light(times, delta_t=69.2):
    """Every step for the tilted panel, as arrays."""
    p = spa_python(times, SITE["latitude"], SITE["longitude"], SITE["altitude"], pressure=101325, temperature=AIR,
                   delta_t=delta_t)
    z, az = p["apparent_zenith"].values, p["azimuth"].values
    ghi = pvlib.clearsky.haurwitz(pd.Series(z, index=times))["ghi"].values
    extra = irradiance.get_extra_radiation(times, method="spencer").values
    cos = np.maximum(np.cos(np.radians(z)), 0.065)
    split = irradiance.erbs(ghi, z, times, min_cos_zenith=0.065, max_zenith=87)
    dni, dhi = np.nan_to_num(split["dni"]), np.nan_to_num(split["dhi"])
    total = irradiance.get_total_irradiance(TILT, AZIMUTH, z, az, dni, ghi, dhi, albedo=ALBEDO, model="isotropic")
    poa = np.nan_to_num(total["poa_global"])
    cell = temperature.faiman(poa, AIR, WIND, u0=25.0, u1=6.84)
    dc = pvsystem.pvwatts_dc(effective_irradiance=poa, temp_cell=cell, pdc0=1.0, gamma_pdc=GAMMA)
    return dict(zenith=z, azimuth=az, extra=extra, ghi=ghi, dni=dni, dhi=dhi, poa=poa, cell=cell, dc=dc)


print("positions: true zenith, seen zenith, azimuth")
for case in [
    ("2003-10-17T19:30:30Z", 39.742476, -105.1786, 1830.14, 820, 11, 67),
    ("2025-06-21T11:00:00Z", 52.52, 13.405, 0, 1013.25, 12, 69.2),
    ("2025-12-21T02:00:00Z", -33.87, 151.21, 0, 1013.25, 12, 69.2),
    ("2025-03-20T12:00:00Z", 0, 0, 0, 1013.25, 12, 69.2),
]:
    print(case[:4], position(*case))

print("instants over 48 N 11 E, 500 m:")
for text in ["2026-03-20T11:20Z", "2026-06-21T11:20Z", "2026-06-21T06:00Z", "2026-09-22T15:00Z", "2026-12-21T11:20Z",
             "2026-06-21T20:00Z"]:
    print(text, {k: round(float(v[0]), 4) for k, v in light(at(text)).items()})

print("whole days, midnight to midnight by the sun, minute by minute; hours at the label's power before losses:")
for day in ["2026-06-21", "2026-12-21", "2026-03-20"]:
    start = pd.Timestamp(day, tz="UTC") - pd.Timedelta(seconds=11.0 * 240)
    print(day, round(float(light(pd.date_range(start, periods=1440, freq="1min"))["dc"].sum() / 60), 4))

print("losses", pvsystem.pvwatts_losses())
