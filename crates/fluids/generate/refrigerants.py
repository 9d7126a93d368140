"""The thirteen refrigerants and what the generator needs to know about each.

`mole_fractions` and `departure` are given only for the blends that exist as mixtures of
pure equations. `top_K` is the highest dew temperature tabulated, kept a little below the
point where CoolProp 8.0.0 stops converging or where the two ends of the dome run together.
"""

from dataclasses import dataclass, field

import CoolProp.CoolProp as CP

CELSIUS = 273.15


# Full citations behind the library's bibliography keys. An unknown key stops the generator.
CITATIONS = {
    "TillnerRoth-JPCRD-1994": "R. Tillner-Roth, H. D. Baehr, J. Phys. Chem. Ref. Data 23 (1994) 657",
    "TillnerRoth-JPCRD-1997": "R. Tillner-Roth, A. Yokozeki, J. Phys. Chem. Ref. Data 26 (1997) 1273",
    "Lemmon-IJT-2003": "E. W. Lemmon, Int. J. Thermophys. 24 (2003) 991 (pseudo-pure fluid)",
    "Kamei-IJT-1995": "A. Kamei, S. W. Beyerlein, R. T. Jacobsen, Int. J. Thermophys. 16 (1995) 1155",
    "Lemmon-JCED-2009": "E. W. Lemmon, M. O. McLinden, W. Wagner, J. Chem. Eng. Data 54 (2009) 3141",
    "Buecker-JPCRD-2006B": "D. Buecker, W. Wagner, J. Phys. Chem. Ref. Data 35 (2006) 929",
    "Span-JPCRD-1996": "R. Span, W. Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509",
    "Lemmon-IJT-2022": "E. W. Lemmon, R. Akasaka, Int. J. Thermophys. 43 (2022) 119",
    "Thol-IJT-2016-R1234zeE": "M. Thol, E. W. Lemmon, Int. J. Thermophys. 37 (2016) 28",
    "Bell-JPCRD-2022": "I. H. Bell, J. Phys. Chem. Ref. Data 51 (2022) 013103 (binary mixture model)",
    "Bell-JPCRD-2023": "I. H. Bell, J. Phys. Chem. Ref. Data 52 (2023) 013101 (binary mixture model)",
}


@dataclass(frozen=True)
class Refrigerant:
    module: str  # Rust module under src/refrigerant/data
    name: str  # ASHRAE 34 designation
    coolprop: str  # name understood by CoolProp
    top_K: float
    bottom_K: float = 203.15
    sweep_below_K: float = 3.0  # how far below bottom_K the curves are swept: more than the glide
    t_max_K: float | None = None  # default: the equation's own limit, at most 180 degC
    p_max_Pa: float = 15e6
    # (n, t, d, l) of the departure function of the binary pair, and its publication.
    departure: tuple = field(default=())

    @property
    def is_mixture(self):
        return self.coolprop.endswith(".mix")

    def state(self):
        return CP.AbstractState("HEOS", self.coolprop)


# Departure functions as shipped with CoolProp 8.0.0, dev/mixtures/mixture_departure_functions.json of its
# source distribution ("R32-R1234yf", "R1234yf-R134a"). The library does not hand them out by a
# call, so they are repeated here; `make_data.py` checks the sum against the library's own residual.
R32_R1234YF = (
    (0.449487, 2.538296, 1, 1),
    (-0.099708, 3.208604, 2, 1),
    (0.098897, 0.456509, 3, 1),
)
R1234YF_R134A = (
    (0.0519, 2.477314, 1, 1),
    (-0.011472, 0.070541, 2, 2),
)

REFRIGERANTS = [
    Refrigerant("r134a", "R134a", "R134a", top_K=374.0),
    Refrigerant("r32", "R32", "R32", top_K=351.1),
    Refrigerant("r410a", "R410A", "R410A", top_K=CELSIUS + 70.5),
    Refrigerant("r407c", "R407C", "R407C", top_K=CELSIUS + 84.0, bottom_K=213.15, sweep_below_K=9.0),
    Refrigerant("r404a", "R404A", "R404A", top_K=CELSIUS + 71.0),
    Refrigerant("r22", "R22", "R22", top_K=369.1),
    Refrigerant("r290", "R290", "Propane", top_K=369.7),
    Refrigerant("r600a", "R600a", "IsoButane", top_K=407.6),
    Refrigerant("r744", "R744", "CO2", top_K=303.9, bottom_K=216.60, sweep_below_K=0.005, p_max_Pa=20e6),
    Refrigerant("r1234yf", "R1234yf", "R1234yf", top_K=367.6),
    Refrigerant("r1234ze_e", "R1234ze(E)", "R1234ze(E)", top_K=382.3),
    # R1234yf's equation is stated to 410 K, R32's to 435 K; the blend is 83 % R32 by mole.
    Refrigerant("r454b", "R454B", "R454B.mix", top_K=CELSIUS + 70.5, t_max_K=435.0, departure=R32_R1234YF),
    Refrigerant("r513a", "R513A", "R513A.mix", top_K=CELSIUS + 90.0, departure=R1234YF_R134A),
]
