//! Heat measured on the air or the water side, tanks, mixing, hot-water ratings.

use halfsplit_fluids::air::STANDARD_PRESSURE;
use halfsplit_fluids::water::Liquid;
use halfsplit_units::Dimension::{
    Energy, Power, PressureAbsolute, Ratio, Temperature, TemperatureDifference, Time, Volume, VolumeFlow,
};

use crate::air::{
    ALTITUDE, Coil, ENTERING, ENTERING_HUMIDITY, ENTERING_WET, FLOW, LEAVING, LEAVING_HUMIDITY, LEAVING_WET,
    PERFECT_GAS, PRESSURE, both_sides,
};
use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, Spread, WorkingValue};

/// US gallon, m³ (231 cubic inches).
pub const GALLON: f64 = 0.003_785_411_784;
const POUND: f64 = 0.453_592_37;
/// 8.33 lb/gal, the trade's figure for cold water, kg/m³.
pub const TRADE_DENSITY: f64 = 8.33 * POUND / GALLON;
/// 1 Btu per pound and °F, J/(kg K).
pub const TRADE_HEAT_CAPACITY: f64 = 4186.8;

/// Heat (W) given to water: volume flow (m³/s) measured on the entering side, temperatures in K, pressure in Pa absolute.
/// Negative when the water is cooled.
///
/// # Errors
/// Refuses a flow not above zero and water outside 0 to 200 °C or boiling.
pub fn water_side(flow: f64, entering: f64, leaving: f64, pressure: f64) -> Result<f64, Refusal> {
    let cold = Liquid::new(pressure, entering)?;
    let hot = Liquid::new(pressure, leaving)?;
    Ok(positive("water flow", flow, "m³/s")? * cold.density() * (hot.enthalpy() - cold.enthalpy()))
}

/// Energy (J) to bring a volume of water (m³, as it is at `from`) from one temperature (K) to another.
///
/// # Errors
/// Refuses a volume not above zero and water outside 0 to 100 °C.
pub fn tank(volume: f64, from: f64, to: f64) -> Result<f64, Refusal> {
    water_side(positive("tank volume", volume, "m³")?, from, to, STANDARD_PRESSURE)
}

/// Share of hot water in a mix; temperatures in any one unit.
///
/// # Errors
/// Refuses a mix outside the two.
pub fn hot_share(hot: f64, cold: f64, mixed: f64) -> Result<f64, Refusal> {
    if hot > cold && mixed > cold && mixed <= hot {
        Ok((mixed - cold) / (hot - cold))
    } else {
        Err(contradiction(
            "the mixed temperature must lie above the cold and not above the hot one; check which is which",
        ))
    }
}

/// Time (s) after which water at a skin temperature (K, 44 to 80 °C) does a burn at the threshold, by the published fit.
///
/// # Errors
/// Refuses temperatures outside the fit.
pub fn burn_time(skin: f64) -> Result<f64, Refusal> {
    let celsius = within("skin temperature", skin - 273.15, (44.0, 80.0), "°C")?;
    Ok(libm::exp(116.4 - 28.3 * libm::log(celsius)))
}

/// First-hour rating's usage bin and its daily draw (m³).
///
/// # Errors
/// Refuses a rating not above zero.
pub fn usage_bin(first_hour: f64) -> Result<(&'static str, f64), Refusal> {
    // Ratings are stated to a tenth of a gallon, and the borders of the bins are such figures.
    let gallons = (positive("first-hour rating", first_hour, "m³")? / GALLON * 10.0).round() / 10.0;
    let (name, draw) = match gallons {
        g if g < 18.0 => ("very small", 10.0),
        g if g < 51.0 => ("low", 38.0),
        g if g < 75.0 => ("medium", 55.0),
        _ => ("high", 84.0),
    };
    Ok((name, draw * GALLON))
}

const WATER: Range = Range::from_to(0.0, 100.0);
const LITRES: Range = Range::above_zero(100_000.0);
const KELVINS: Range = Range::above_zero(100.0);
const ELECTRIC: Input = Input::quantity(
    "electric",
    "electrical power of the whole machine, fans and pumps with it",
    Power,
    "W",
    Range::above_zero(1e6),
)
.optional();
const IF97: &str = "water by IAPWS R7-97(2012)";
const TRADE_RULE: &str = "trade rule: 8.33 lb per US gallon, 1 Btu per lb and °F";

fn cop(heat: f64, electric: Option<f64>) -> Option<f64> {
    electric.map(|electric| heat.abs() / electric)
}

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "heat.water_side",
        title: "Capacity and COP from the water side",
        inputs: &[
            Input::quantity(
                "flow",
                "water flow, measured on the entering side",
                VolumeFlow,
                "L/min",
                Range::above_zero(1e5),
            ),
            Input::quantity("entering", "water in", Temperature, "°C", WATER),
            Input::quantity("leaving", "water out", Temperature, "°C", WATER),
            Input::quantity("pressure", "water pressure", PressureAbsolute, "kPa(a)", Range::from_to(50.0, 5000.0))
                .or(300.0),
            ELECTRIC,
        ],
        outputs: &[
            Output::quantity("capacity", "heat given to the water (negative: taken from it)", Power, "W"),
            Output::plain("cop", "capacity over electrical power", "1"),
            Output::quantity("difference", "water out less water in", TemperatureDifference, "K"),
        ],
        formula: "Q = V ρ(in) (h(out) − h(in)); COP = |Q| / P",
        source: IF97,
        validity: "clean water, steady state; glycol needs its own density and heat. With a small temperature difference the two thermometers decide the result: match them in one bath first",
        example: &[
            ("flow", "20 L/min ± 2 %"),
            ("entering", "45 °C ± 0.2 K"),
            ("leaving", "50 °C ± 0.2 K"),
            ("electric", "1900 W ± 1 %"),
        ],
        compute: |k| {
            let (entering, leaving) = (k.number("entering")?, k.number("leaving")?);
            let heat = water_side(k.number("flow")?, entering, leaving, k.number("pressure")?)?;
            Ok(Found::number("capacity", heat)
                .and("difference", leaving - entering)
                .and_maybe("cop", cop(heat, k.maybe("electric"))))
        },
    },
    WorkingValue {
        id: "heat.air_side",
        title: "Capacity and COP from the air side",
        inputs: &[
            FLOW,
            ENTERING,
            ENTERING_WET,
            ENTERING_HUMIDITY,
            LEAVING,
            LEAVING_WET,
            LEAVING_HUMIDITY,
            ALTITUDE,
            PRESSURE,
            ELECTRIC,
        ],
        outputs: &[
            Output::quantity("capacity", "heat taken from the air (negative: given to it)", Power, "W")
                .spread(PERFECT_GAS),
            Output::plain("cop", "capacity over electrical power", "1").spread(PERFECT_GAS),
            Output::quantity("sensible_share", "sensible heat ratio", Ratio, "%"),
        ],
        formula: "Q = m [(h1 − h2) − (W1 − W2) h_water], m = V/v1; COP = |Q| / P",
        source: "balance over the coil; air by ASHRAE Handbook — Fundamentals (2017), ch. 1",
        validity: "steady state, ten minutes or more of running; flow by an anemometer or hood is rarely better than 5 %, and that mostly decides the result",
        example: &[
            ("flow", "600 m³/h ± 5 %"),
            ("entering", "27 °C ± 0.3 K"),
            ("entering_wet_bulb", "19 °C ± 0.3 K"),
            ("leaving", "14 °C ± 0.3 K"),
            ("leaving_wet_bulb", "13 °C ± 0.3 K"),
            ("electric", "900 W ± 2 %"),
        ],
        compute: |k| {
            let (entering, leaving) = both_sides(k)?;
            let coil = Coil::new(entering, leaving, k.number("flow")?)?;
            Ok(Found::number("capacity", coil.cooling)
                .and_maybe("cop", cop(coil.cooling, k.maybe("electric")))
                .and_maybe("sensible_share", (coil.cooling > 0.0).then_some(coil.sensible / coil.cooling)))
        },
    },
    WorkingValue {
        id: "heat.tank",
        title: "Energy and time to heat a tank, and COP from its warming",
        inputs: &[
            Input::quantity("volume", "water in the tank, as cold", Volume, "L", LITRES),
            Input::quantity("from", "mean tank temperature at the start", Temperature, "°C", Range::from_to(0.0, 99.0)),
            Input::quantity("to", "mean tank temperature at the end", Temperature, "°C", Range::from_to(0.0, 99.0)),
            Input::quantity("heating", "heating power, for the time it takes", Power, "W", Range::above_zero(1e6))
                .optional(),
            Input::quantity(
                "electric_energy",
                "electrical energy used meanwhile, for the COP",
                Energy,
                "kWh",
                Range::above_zero(1e4),
            )
            .optional(),
        ],
        outputs: &[
            Output::quantity("energy", "heat stored", Energy, "kWh"),
            Output::quantity("time", "time at that heating power", Time, "h"),
            Output::plain("cop", "heat stored over electrical energy", "1"),
        ],
        formula: "Q = V ρ(from) (h(to) − h(from))",
        source: IF97,
        validity: "no draw and no standing loss meanwhile; temperatures are means over the height of the tank",
        example: &[
            ("volume", "189 L ± 2 %"),
            ("from", "15 °C ± 1 K"),
            ("to", "50 °C ± 1 K"),
            ("heating", "1500 W"),
            ("electric_energy", "2.1 kWh ± 1 %"),
        ],
        compute: |k| {
            let energy = tank(k.number("volume")?, k.number("from")?, k.number("to")?)?;
            let heated = |what: &'static str| positive(what, energy, "J (the tank did not warm)");
            let mut found = Found::number("energy", energy);
            if let Some(power) = k.maybe("heating") {
                found = found.and("time", heated("energy to heat")? / power);
            }
            if let Some(electric) = k.maybe("electric_energy") {
                found = found.and("cop", heated("energy stored")? / electric);
            }
            Ok(found)
        },
    },
    WorkingValue {
        id: "heat.tank_by_rule",
        title: "The same by the trade's rule: energy, recovery rate, COP",
        inputs: &[
            Input::quantity("rise", "temperature rise", TemperatureDifference, "K", KELVINS),
            Input::quantity("volume", "water heated", Volume, "gal", Range::above_zero(30_000.0)).optional(),
            Input::quantity("power", "heating power, for the recovery rate", Power, "W", Range::above_zero(1e6))
                .optional(),
            Input::quantity("efficiency", "share of it that reaches the water", Ratio, "%", Range::above_zero(100.0))
                .or(100.0),
            Input::quantity(
                "electric_energy",
                "electrical energy used, for the COP",
                Energy,
                "kWh",
                Range::above_zero(1e4),
            )
            .optional(),
        ],
        outputs: &[
            Output::quantity("energy", "heat", Energy, "kWh")
                .spread(Spread::Relative(0.01, "8.33 lb/gal is 1.1 % high at 52 °C")),
            Output::quantity("recovery", "water heated per hour", VolumeFlow, "L/h"),
            Output::plain("cop", "heat over electrical energy", "1"),
        ],
        formula: "Q = V · 8.33 lb/gal · 1 Btu/(lb °F) · rise",
        source: TRADE_RULE,
        validity: "8.33 is a cold-water figure, 1.1 % high at 52 °C (125 °F); heat.tank uses real water",
        example: &[("volume", "50 gal"), ("rise", "67 °F"), ("power", "4500 W"), ("efficiency", "98 %")],
        compute: |k| {
            let per_volume =
                TRADE_DENSITY * TRADE_HEAT_CAPACITY * positive("temperature rise", k.number("rise")?, "K")?;
            let energy = k.maybe("volume").map(|volume| volume * per_volume);
            let recovery = match k.maybe("power") {
                Some(power) => Some(positive("power", power, "W")? * k.number("efficiency")? / per_volume),
                None => None,
            };
            if energy.is_none() && recovery.is_none() {
                return Err(contradiction("give a volume (for the energy) or a power (for the recovery rate)"));
            }
            let cop = energy.zip(k.maybe("electric_energy")).map(|(energy, electric)| energy / electric);
            Ok(Found::default().and_maybe("energy", energy).and_maybe("recovery", recovery).and_maybe("cop", cop))
        },
    },
    WorkingValue {
        id: "heat.water_density",
        title: "Density of water",
        inputs: &[
            Input::quantity("temperature", "water temperature", Temperature, "°C", Range::from_to(0.0, 200.0)),
            Input::quantity("pressure", "water pressure", PressureAbsolute, "kPa(a)", Range::from_to(50.0, 10_000.0))
                .or(101.325),
        ],
        outputs: &[
            Output::plain("density", "density", "kg/m³"),
            Output::plain("per_gallon", "pounds in a US gallon", "lb/gal"),
            Output::plain("heat_capacity", "specific heat", "J/(kg K)"),
        ],
        formula: "IAPWS industrial formulation, region 1",
        source: IF97,
        validity: "liquid from 0 to 200 °C",
        example: &[("temperature", "60 °F")],
        compute: |k| {
            let water = Liquid::new(k.number("pressure")?, k.number("temperature")?)?;
            Ok(Found::number("density", water.density())
                .and("per_gallon", water.density() * GALLON / POUND)
                .and("heat_capacity", water.heat_capacity()))
        },
    },
    WorkingValue {
        id: "heat.mix",
        title: "Share of hot water at a mixing valve",
        inputs: &[
            Input::quantity("hot", "hot water", Temperature, "°C", WATER),
            Input::quantity("cold", "cold water", Temperature, "°C", WATER),
            Input::quantity("mixed", "mixed water", Temperature, "°C", WATER),
        ],
        outputs: &[
            Output::quantity("hot_share", "share of hot water", Ratio, "%"),
            Output::plain("gain", "mixed water from each part of hot", "1"),
        ],
        formula: "share = (mixed − cold) / (hot − cold); gain = 1 / share",
        source: "heat balance with equal density and heat",
        validity: "no heat lost; within 1 % for tap temperatures",
        example: &[("hot", "140 °F"), ("cold", "55 °F"), ("mixed", "120 °F")],
        compute: |k| {
            let share = hot_share(k.number("hot")?, k.number("cold")?, k.number("mixed")?)?;
            Ok(Found::number("hot_share", share).and("gain", 1.0 / share))
        },
    },
    WorkingValue {
        id: "heat.first_hour",
        title: "First-hour rating: usage bin and daily draw",
        inputs: &[Input::quantity("rating", "first-hour rating", Volume, "gal", Range::above_zero(1000.0))],
        outputs: &[
            Output::word("bin", "usage bin"),
            Output::quantity("daily_draw", "water drawn in the bin's test day", Volume, "gal"),
        ],
        formula: "below 18 gal very small, to 50.9 low, to 74.9 medium, from 75 high",
        source: "bins: 16 CFR 305 Appendix D1; daily draws 10, 38, 55, 84 gal: 10 CFR 430 subpart B Appendix E, from memory",
        validity: "ratings by the uniform energy factor; older ratings carry another factor and do not compare",
        example: &[("rating", "66 gal")],
        compute: |k| {
            let (bin, draw) = usage_bin(k.number("rating")?)?;
            Ok(Found::number("daily_draw", draw).and_word("bin", bin))
        },
    },
    WorkingValue {
        id: "heat.first_hour_from_draws",
        title: "First-hour rating with a last draw cut short",
        inputs: &[
            Input::quantities(
                "draws",
                "volumes drawn, the cut-short one last",
                Volume,
                "gal",
                Range::above_zero(1000.0),
            ),
            Input::quantity("last_mean", "mean outlet temperature of the last draw", Temperature, "°C", WATER),
            Input::quantity("previous_mean", "mean outlet temperature of the draw before", Temperature, "°C", WATER),
            Input::quantity(
                "previous_lowest",
                "lowest outlet temperature of the draw before",
                Temperature,
                "°C",
                WATER,
            ),
        ],
        outputs: &[Output::quantity("rating", "first-hour rating", Volume, "gal")],
        formula: "sum of the full draws + V_last (T_last − T_lowest,before)/(T_mean,before − T_lowest,before)",
        source: "10 CFR 430 subpart B Appendix E, from memory",
        validity: "one-hour draw test",
        example: &[
            ("draws", "42 gal, 21 gal, 8 gal"),
            ("last_mean", "115 °F"),
            ("previous_mean", "121 °F"),
            ("previous_lowest", "110 °F"),
        ],
        compute: |k| {
            let Some((last, full)) = k.numbers("draws").split_last() else {
                return Err(contradiction("give the draws, the cut-short one last"));
            };
            let lowest = k.number("previous_lowest")?;
            let span =
                positive("mean less lowest temperature of the draw before", k.number("previous_mean")? - lowest, "K")?;
            Ok(Found::number("rating", full.iter().sum::<f64>() + last * (k.number("last_mean")? - lowest) / span))
        },
    },
    WorkingValue {
        id: "heat.burn_time",
        title: "How soon hot water injures an adult's skin",
        inputs: &[Input::quantity("skin", "temperature at the skin", Temperature, "°C", Range::from_to(44.0, 80.0))],
        outputs: &[Output::quantity("time", "time to the threshold of a burn", Time, "s").spread(Spread::Relative(
            0.5,
            "a fit to few old experiments; a widely copied table (from memory) gives up to three times as long",
        ))],
        formula: "ln t = 116.4 − 28.3 ln T, t in s, T in °C",
        source: "open-access fit to Moritz and Henriques (1947), R² = 0.98; the base of the logarithm was inferred from the review",
        validity: "adults; children and the old burn sooner. Never a safe time",
        example: &[("skin", "60 °C")],
        compute: |k| Ok(Found::number("time", burn_time(k.number("skin")?)?)),
    },
];
