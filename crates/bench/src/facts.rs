//! Reference figures that are looked up, not computed: limits, thresholds, properties listed by a standard.

use serde::Serialize;

/// How a figure came here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Read in the source or a copy of it.
    Read,
    /// From memory; check it against the source before relying on it.
    FromMemory,
}

/// A reference figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figure {
    /// Name, unique.
    pub id: &'static str,
    /// What it is.
    pub title: &'static str,
    /// The figure, or the low end of a band.
    pub value: f64,
    /// The high end of a band.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<f64>,
    /// Its unit.
    pub unit: &'static str,
    /// Where it is published.
    pub source: &'static str,
    /// How it came here.
    pub mark: Mark,
}

const fn figure(id: &'static str, title: &'static str, value: f64, unit: &'static str, source: &'static str) -> Figure {
    Figure { id, title, value, to: None, unit, source, mark: Mark::Read }
}

impl Figure {
    const fn up_to(mut self, to: f64) -> Self {
        self.to = Some(to);
        self
    }

    const fn remembered(mut self) -> Self {
        self.mark = Mark::FromMemory;
        self
    }
}

/// All reference figures.
pub fn figures() -> &'static [Figure] {
    FIGURES
}

/// The figure of this name.
pub fn figure_named(id: &str) -> Option<&'static Figure> {
    FIGURES.iter().find(|figure| figure.id == id)
}

const SHOCK: &str = "NIOSH/OSHA table of effects, 60 Hz for one second";
const NAVY: &str = "MIL-HDBK-1025/10, table 1";
const BURN: &str = "US Consumer Product Safety Commission notice on tap water";
const LEGIONELLA: &str = "WHO, Legionella and the prevention of legionellosis (2007), as quoted";
const STORE: &str = "ASHRAE Guideline 12, as restated";
const RELIEF: &str = "Washington Administrative Code 296-150V-1580; valve by ANSI Z21.22";
const ROOM: &str = "International Mechanical Code table 1103.1 (an older edition; values from ASHRAE 34)";
const ROOM_BLEND: &str = "ASHRAE 34, as restated in a trade article";
const UEF: &str = "10 CFR 430 subpart B Appendix E";
const GWP4: &str = "100-year GWP of the IPCC's fourth report (AR4), 40 CFR 98 table A-1 before 2025";
const GWP5: &str = "100-year GWP of the IPCC's fifth report (AR5)";

const FIGURES: &[Figure] = &[
    figure("shock.perception", "current that is just felt", 1.0, "mA", SHOCK),
    figure("shock.slight", "slight shock, not painful but disturbing", 5.0, "mA", SHOCK),
    figure("shock.painful_women", "painful shock, loss of control (women)", 6.0, "mA", SHOCK).up_to(25.0),
    figure("shock.let_go_men", "let-go range (men)", 9.0, "mA", SHOCK).up_to(30.0),
    figure("shock.extreme", "extreme pain, breathing may stop", 50.0, "mA", SHOCK).up_to(150.0),
    figure(
        "shock.fibrillation_threshold",
        "threshold of heart fibrillation (show with the next line or not at all)",
        75.0,
        "mA",
        NAVY,
    ),
    figure("shock.fibrillation_likely", "heart fibrillation likely, from", 1000.0, "mA", SHOCK),
    figure(
        "live_work.threshold",
        "live parts below this to ground need not be made dead if there is no added hazard of burn or arc",
        50.0,
        "V",
        "29 CFR 1910.333(a)(1)",
    ),
    figure(
        "live_work.tester_check",
        "above this the tester must be proved before and after proving dead; advised at every voltage",
        600.0,
        "V",
        "DOE electrical safety handbook 2.13.2.1, restating 29 CFR 1910.333(b)(2)(iv)(B)",
    ),
    figure(
        "burn.at_150F",
        "time to a third-degree burn of an adult at 150 °F; children burn sooner, never a safe time",
        2.0,
        "s",
        BURN,
    ),
    figure("burn.at_140F", "the same at 140 °F", 6.0, "s", BURN),
    figure("burn.at_130F", "the same at 130 °F", 30.0, "s", BURN),
    figure("burn.at_120F", "the same at 120 °F", 300.0, "s", BURN),
    figure("legionella.growth", "legionella grows", 25.0, "°C", LEGIONELLA).up_to(45.0),
    figure("legionella.optimum", "legionella grows best", 32.0, "°C", LEGIONELLA).up_to(42.0),
    figure("legionella.store", "least storage temperature where a risk assessment asks for it", 60.0, "°C", STORE),
    figure("legionella.return", "least temperature of the return", 51.0, "°C", STORE),
    figure(
        "relief.temperature",
        "highest set temperature of a relief valve; some codes say 200 °F",
        210.0,
        "°F",
        RELIEF,
    ),
    figure("relief.pressure", "highest set pressure, or the tank's rating if lower", 150.0, "psig", RELIEF),
    figure("rating.set_point", "set point in the water-heater rating test", 125.0, "°F", UEF),
    figure("rating.inlet", "inlet water in the rating test", 58.0, "°F", UEF).remembered(),
    figure("rating.ambient", "ambient in the rating test", 67.5, "°F", UEF).remembered(),
    figure("leak_rate.charge", "full charge from which the repair rule applies", 50.0, "lb", "40 CFR 82.157"),
    figure("gwp_ar4.R32", "global warming potential of R32", 675.0, "1", GWP4),
    figure("gwp_ar4.R125", "global warming potential of R125", 3500.0, "1", GWP4),
    figure("gwp_ar4.R134a", "global warming potential of R134a", 1430.0, "1", GWP4),
    figure("gwp_ar4.R143a", "global warming potential of R143a", 4470.0, "1", GWP4),
    figure("gwp_ar5.R32", "global warming potential of R32", 677.0, "1", GWP5).remembered(),
    figure("gwp_ar5.R125", "global warming potential of R125", 3170.0, "1", GWP5).remembered(),
    figure("gwp_ar5.R134a", "global warming potential of R134a", 1300.0, "1", GWP5).remembered(),
    figure("gwp_ar5.R143a", "global warming potential of R143a", 4800.0, "1", GWP5).remembered(),
    figure("room_limit.R32.mass", "most R32 per volume of occupied space", 77.0, "g/m³", ROOM),
    figure("room_limit.R32.pounds", "the same in pounds", 4.8, "lb/1000 ft³", ROOM),
    figure("room_limit.R32.volume", "the same by volume", 36000.0, "ppm", ROOM),
    figure("room_limit.R134a.mass", "most R134a per volume of occupied space", 210.0, "g/m³", ROOM),
    figure("room_limit.R134a.pounds", "the same in pounds", 13.0, "lb/1000 ft³", ROOM),
    figure("room_limit.R134a.volume", "the same by volume", 50000.0, "ppm", ROOM),
    figure("room_limit.R125.mass", "most R125 per volume of occupied space", 370.0, "g/m³", ROOM),
    figure("room_limit.R125.pounds", "the same in pounds", 23.0, "lb/1000 ft³", ROOM),
    figure("room_limit.R125.volume", "the same by volume", 75000.0, "ppm", ROOM),
    figure("room_limit.R410A.pounds", "most R410A per volume of occupied space", 26.0, "lb/1000 ft³", ROOM_BLEND),
    figure("room_limit.R410A.volume", "the same by volume", 140_000.0, "ppm", ROOM_BLEND),
];
