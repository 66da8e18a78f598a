"""Density and specific heat of water against TEOS-10, by Debian's python3-gsw: another equation of
state than ours, from other measurements, so the two need not agree to the last digit."""
import os
import pathlib
import subprocess
import sys

try:
    import gsw
except ImportError:
    print("SKIPPED: python3-gsw is not installed (tools/install-packages test)")
    sys.exit(77)

# A little more than the largest differences, 0.0083 and 4.28; the specific heat is valid to 35 °C.
DENSITY_MAX, HEAT_MAX, HEAT_VALID_TO = 0.02, 4.5, 35


def main():
    table = subprocess.run([pathlib.Path(os.environ["EBBWATCH_BIN_DIR"]) / "water_table"], text=True,
                           capture_output=True, check=True).stdout.splitlines()
    worst_density = worst_heat = 0.0
    for line in table:
        salinity, t90, density, heat = map(float, line.split())
        absolute = gsw.SR_from_SP(salinity)
        worst_density = max(worst_density, abs(gsw.rho_t_exact(absolute, t90, 0) - density))
        if t90 <= HEAT_VALID_TO:
            worst_heat = max(worst_heat, abs(gsw.cp_t_exact(absolute, t90, 0) - heat))
    print(f"{len(table)} points: density within {worst_density:.4f} kg/m3, "
          f"specific heat within {worst_heat:.3f} J/(kg K) of TEOS-10")
    assert len(table) == 9 * 41
    assert worst_density < DENSITY_MAX and worst_heat < HEAT_MAX
    return 0


if __name__ == "__main__":
    sys.exit(main())
