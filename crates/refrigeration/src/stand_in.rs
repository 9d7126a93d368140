//! First-order stand-in for the loop's physics. See the crate's documentation for what it is worth.

use crate::{LoopFaults, LoopPoint, LoopSpec, Metering, Surroundings};
use libm::{exp, log, pow, sqrt};

// Rating point: air 20 °C, water 50 °C. Sources: computed cycle table for an R-134a water heater (ASHRAE
// refrigerant properties through an open library; compressor efficiencies judgement).
const ZERO_C: f64 = 273.15;
const RATED_AIR: f64 = ZERO_C + 20.0;
const RATED_EVAPORATING: f64 = ZERO_C + 7.0;
const RATED_CONDENSING: f64 = ZERO_C + 56.0;
const RATED_SINK: f64 = ZERO_C + 50.0;
/// Fall of the air's temperature through the coil, K: middle of the usual 5 to 9 K.
const RATED_AIR_DROP: f64 = 7.0;
/// Lowest evaporating temperature that a starved loop reaches, K. Judgement.
const DEEPEST: f64 = ZERO_C - 38.0;
/// Compressor power as a fraction of heat at the rating point (417 W of 1450 W).
const POWER_SHARE: f64 = 0.2876;
/// Relative growth of the compressor's flow per kelvin of evaporating temperature: slope of the
/// suction vapour's density.
const FLOW_PER_K: f64 = 0.033;
/// Relative loss of flow per kelvin of condensing temperature: re-expansion.
const REEXPANSION_PER_K: f64 = 0.004;
/// Relative loss of refrigerating effect per kelvin of condensing temperature: warmer liquid.
const EFFECT_PER_K: f64 = 0.008;

/// Steady operating point of the loop.
///
/// Temperatures of `around` are trusted between −15 and 70 °C; outside, [`LoopPoint::doubt`] grows.
/// With the compressor at rest everything takes the temperature of what surrounds it.
pub fn operating_point(spec: &LoopSpec, around: &Surroundings, faults: &LoopFaults) -> LoopPoint {
    if around.speed <= 0.0 {
        return at_rest(around);
    }
    let mut point = LoopPoint { condensing: around.sink + 6.0, ..at_rest(around) };
    let mut converged = false;
    // The condensing side answers weakly to the evaporating side: a damped fixed point settles fast.
    for _ in 0..40 {
        let next = one_pass(spec, around, faults, point.condensing);
        let moved = next.condensing - point.condensing;
        let condensing = point.condensing + 0.8 * moved;
        point = LoopPoint { condensing, ..next };
        if moved.abs() < 1e-4 {
            converged = true;
            break;
        }
    }
    let outside = |t: f64| (ZERO_C - 15.0 - t).max(t - ZERO_C - 70.0).max(0.0);
    point.doubt = 1.5 + 0.1 * (outside(around.air) + outside(around.sink)) + if converged { 0.0 } else { 10.0 };
    point.converged = converged;
    point
}

fn at_rest(around: &Surroundings) -> LoopPoint {
    LoopPoint {
        evaporating: around.air,
        condensing: around.sink,
        suction: around.air,
        // Lagged pipes near the tank keep some of its warmth.
        discharge: around.air + 0.3 * (around.sink - around.air),
        liquid: around.air + 0.3 * (around.sink - around.air),
        leaving_air: around.air,
        superheat: 0.0,
        subcooling: 0.0,
        compressor_power: 0.0,
        heat: 0.0,
        opening: 0.0,
        doubt: 0.7,
        converged: true,
        suction_pressure: 0.0,
        discharge_pressure: 0.0,
        flow: 0.0,
        cooling: 0.0,
        condensate: 0.0,
        frosting: false,
        boiling_share: 0.0,
    }
}

/// Relative mass flow that the compressor moves (1 at the rating point).
fn compressor_flow(evaporating: f64, condensing: f64, speed: f64, pumping: f64) -> f64 {
    let reexpansion = (1.0 - REEXPANSION_PER_K * (condensing - RATED_CONDENSING)).max(0.3);
    speed * pumping * reexpansion * exp(FLOW_PER_K * (evaporating - RATED_EVAPORATING))
}

fn one_pass(spec: &LoopSpec, around: &Surroundings, faults: &LoopFaults, condensing: f64) -> LoopPoint {
    let rated_power = POWER_SHARE * spec.rated_heat;
    let rated_cooling = spec.rated_heat - rated_power;
    let effect = rated_cooling * (1.0 - EFFECT_PER_K * (condensing - RATED_CONDENSING)).max(0.2);

    // A little air moves by itself even with the fan still. At the rating point the air drops 7 K.
    let flow = around.air_flow.max(0.03);
    let air_capacity = rated_cooling / RATED_AIR_DROP * flow;
    let rated_ntu = -log(1.0 - RATED_AIR_DROP / (RATED_AIR - RATED_EVAPORATING));
    let conductance =
        rated_ntu * rated_cooling / RATED_AIR_DROP * pow(flow, 0.7) * (1.0 - faults.evaporator_fouling).max(0.02);

    let subcooling_full = spec.subcooling + 40.0 * (faults.charge - 1.0) + 6.0 * faults.restriction;
    let subcooling = subcooling_full.max(0.0);
    // Below the charge at which subcooling is lost the valve is fed with flash gas.
    let lost_at = 1.0 - spec.subcooling / 40.0;
    let feed = if faults.charge < lost_at { pow(faults.charge / lost_at, 3.5) } else { 1.0 };
    let head = sqrt(((condensing - around.air + 25.0) / (RATED_CONDENSING - RATED_AIR + 25.0)).max(0.05));
    let capacity_full_open = feed * (1.0 - faults.restriction) * head / spec.rated_opening;

    let target = match around.metering {
        Metering::Holds { superheat, .. } => superheat.clamp(0.0, 30.0),
        Metering::Fixed(_) => spec.superheat,
    };
    // Where the coil holds the target superheat.
    let balanced = evaporating_where(
        |t| {
            compressor_flow(t, condensing, around.speed, faults.pumping) * effect
                - coil(conductance, air_capacity, around.air, t) * active(target, spec.superheat)
        },
        around.air,
    );
    let wanted = compressor_flow(balanced, condensing, around.speed, faults.pumping) / capacity_full_open.max(1e-6);
    let opening = match around.metering {
        Metering::Fixed(o) => o,
        Metering::Holds { least, most, .. } => wanted.clamp(least, most.max(least)),
    };
    let ratio = opening / wanted.max(1e-9);

    let (evaporating, superheat, flooding) = if ratio < 0.999 {
        // Starved: the compressor pulls down until it moves only what the valve passes.
        let passes = capacity_full_open * opening;
        let t =
            evaporating_where(|t| compressor_flow(t, condensing, around.speed, faults.pumping) - passes, around.air);
        let offered = coil(conductance, air_capacity, around.air, t);
        let share = if offered > 0.0 { (passes * effect / offered).clamp(0.0, 1.0) } else { 0.0 };
        let most = (around.air - t - 0.5).max(0.0);
        (t, superheat_of(share, spec.superheat).min(most), 0.0)
    } else if ratio > 1.001 {
        // Overfed: superheat vanishes, then liquid goes on to the compressor.
        let excess = ratio - 1.0;
        let superheat = (target * (1.0 - excess / 0.25)).max(0.0);
        let flooding = (excess - 0.25).clamp(0.0, 1.5);
        (balanced + 2.0 * excess.min(1.0), superheat, flooding)
    } else {
        (balanced, target, 0.0)
    };

    let flow_now = compressor_flow(evaporating, condensing, around.speed, faults.pumping);
    let lift = (condensing - evaporating).max(5.0);
    let rated_lift = RATED_CONDENSING - RATED_EVAPORATING;
    // Leaking valves still cost the work of what leaks back.
    let work_flow = flow_now * (1.0 + 0.4 * (1.0 - faults.pumping) / faults.pumping.max(0.1));
    let power = rated_power * (0.12 + 0.88 * work_flow * pow(lift / rated_lift, 0.8));
    let cooling = flow_now * effect * (1.0 - 0.25 * flooding.min(1.0));
    let heat = cooling + 0.93 * power;

    let overfilled = (faults.charge - 1.05).max(0.0);
    let sink_conductance = spec.rated_heat / (RATED_CONDENSING - RATED_SINK)
        * (1.0 - faults.condenser_fouling).max(0.02)
        * (1.0 - 0.9 * overfilled).max(0.2);
    let condensing_next = around.sink + heat / sink_conductance + 45.0 * faults.air_in_circuit;

    let discharge =
        condensing + 19.0 + 0.14 * lift - 2.0 + 1.1 * (superheat - spec.superheat) + 10.0 * (1.0 - faults.pumping)
            - 22.0 * flooding.min(1.0);
    LoopPoint {
        evaporating,
        condensing: condensing_next,
        suction: (evaporating + superheat).min(around.air),
        discharge: discharge.max(condensing),
        liquid: condensing - subcooling,
        leaving_air: around.air - cooling / air_capacity,
        superheat,
        subcooling,
        compressor_power: power,
        heat,
        opening,
        doubt: 0.0,
        converged: false,
        suction_pressure: 0.0,
        discharge_pressure: 0.0,
        flow: 0.0,
        cooling: 0.0,
        condensate: 0.0,
        frosting: false,
        boiling_share: 0.0,
    }
}

/// Heat that the coil takes up at an evaporating temperature, W: an exchanger with one side at constant
/// temperature. `conductance` and `air_capacity` in W/K.
fn coil(conductance: f64, air_capacity: f64, air: f64, evaporating: f64) -> f64 {
    air_capacity * (1.0 - exp(-conductance / air_capacity)) * (air - evaporating)
}

/// Share of the coil that boils, against its share at the design superheat.
fn active(superheat: f64, design: f64) -> f64 {
    (1.0 - 0.012 * (superheat - design)).clamp(0.2, 1.08)
}

/// Superheat at which the coil is active to this share: inverse of [`active`], steeper when starved.
fn superheat_of(share: f64, design: f64) -> f64 {
    design + (1.0 - share) / 0.035
}

/// Evaporating temperature at which a rising balance is zero, by bisection below the air.
fn evaporating_where(balance: impl Fn(f64) -> f64, air: f64) -> f64 {
    // A compressor pulls down to about −38 °C and then only goes round and round.
    let (mut low, mut high) = (DEEPEST.min(air - 5.0), air);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if balance(mid) > 0.0 {
            high = mid;
        } else {
            low = mid;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SPEC: LoopSpec = LoopSpec { rated_heat: 1450.0, superheat: 6.0, subcooling: 5.0, rated_opening: 0.5 };

    fn around(water_c: f64) -> Surroundings {
        Surroundings {
            air: ZERO_C + 20.0,
            humidity: 0.5,
            sink: ZERO_C + water_c,
            air_flow: 1.0,
            speed: 1.0,
            metering: Metering::Holds { superheat: 6.0, least: 0.0, most: 1.0 },
        }
    }

    fn at(water_c: f64, faults: LoopFaults) -> LoopPoint {
        let p = operating_point(&SPEC, &around(water_c), &faults);
        assert!(p.converged);
        p
    }

    /// Source: cycle table for an R-134a water heater, air 20 °C, superheat 6 K, subcooling 5 K, computed
    /// with an open property library; its compressor efficiencies are judgement. Line sensor 2 to 5 K below shell.
    #[test]
    fn reproduces_the_cycle_table_within_its_doubt() {
        for (water, et, ct, dt, w, heat) in [
            (20.0, 4.5, 28.0, 52.0, 267.0, 1620.0),
            (40.0, 6.5, 47.0, 72.0, 367.0, 1530.0),
            (50.0, 7.0, 56.0, 83.0, 417.0, 1450.0),
            (60.0, 8.0, 66.0, 95.0, 481.0, 1390.0),
        ] {
            let p = at(water, LoopFaults::default());
            assert!((p.evaporating - ZERO_C - et).abs() < 2.5, "water {water}: evaporating {}", p.evaporating - ZERO_C);
            assert!((p.condensing - ZERO_C - ct).abs() < 2.5, "water {water}: condensing {}", p.condensing - ZERO_C);
            assert!((p.discharge + 3.0 - ZERO_C - dt).abs() < 4.0, "water {water}: discharge {}", p.discharge - ZERO_C);
            assert!((p.compressor_power / w - 1.0).abs() < 0.10, "water {water}: {} W", p.compressor_power);
            assert!((p.heat / heat - 1.0).abs() < 0.10, "water {water}: heat {} W", p.heat);
        }
    }

    /// Signs with a modulating valve. Source: common practice, no source (trade pattern table).
    #[test]
    fn faults_move_the_loop_the_way_the_trade_knows() {
        let healthy = at(50.0, LoopFaults::default());
        let low = at(50.0, LoopFaults { charge: 0.6, ..Default::default() });
        assert!(
            low.evaporating < healthy.evaporating - 2.0
                && low.superheat > 10.0
                && low.discharge > healthy.discharge + 5.0
        );
        assert!(
            low.heat < 0.9 * healthy.heat && low.compressor_power < healthy.compressor_power && low.subcooling < 1.0
        );
        let restricted = at(50.0, LoopFaults { restriction: 0.6, ..Default::default() });
        assert!(
            restricted.evaporating < healthy.evaporating
                && restricted.superheat > 8.0
                && restricted.subcooling > healthy.subcooling
        );
        let worn = at(50.0, LoopFaults { pumping: 0.6, ..Default::default() });
        assert!(
            worn.evaporating > healthy.evaporating + 2.0
                && worn.condensing < healthy.condensing - 1.0
                && worn.heat < 0.85 * healthy.heat
        );
        let dirty = at(50.0, LoopFaults { evaporator_fouling: 0.5, ..Default::default() });
        assert!(dirty.evaporating < healthy.evaporating - 2.0 && dirty.heat < healthy.heat);
        let scaled = at(50.0, LoopFaults { condenser_fouling: 0.5, ..Default::default() });
        assert!(scaled.condensing > healthy.condensing + 3.0 && scaled.compressor_power > healthy.compressor_power);
        let open = operating_point(
            &SPEC,
            &Surroundings { metering: Metering::Fixed(1.0), ..around(45.0) },
            &LoopFaults::default(),
        );
        assert!(
            open.superheat == 0.0
                && open.evaporating > healthy.evaporating - 1.0
                && open.discharge < healthy.discharge - 10.0
        );
        let shut = operating_point(
            &SPEC,
            &Surroundings { metering: Metering::Fixed(0.12), ..around(50.0) },
            &LoopFaults::default(),
        );
        assert!(shut.evaporating < healthy.evaporating - 15.0 && shut.superheat > 15.0);
    }

    #[test]
    fn at_rest_everything_takes_the_temperature_around_it() {
        let p = operating_point(&SPEC, &Surroundings { speed: 0.0, ..around(40.0) }, &LoopFaults::default());
        assert_eq!(p.evaporating, ZERO_C + 20.0);
        assert_eq!(p.compressor_power, 0.0);
    }

    #[test]
    fn finds_a_balance_everywhere_in_range() {
        for air in [-10.0, 5.0, 20.0, 40.0] {
            for water in [5.0, 30.0, 65.0] {
                for faults in [
                    LoopFaults::default(),
                    LoopFaults { charge: 0.15, ..Default::default() },
                    LoopFaults { restriction: 0.95, ..Default::default() },
                    LoopFaults { pumping: 0.2, ..Default::default() },
                    LoopFaults {
                        evaporator_fouling: 0.9,
                        condenser_fouling: 0.9,
                        air_in_circuit: 0.3,
                        ..Default::default()
                    },
                ] {
                    for flow in [0.0, 0.3, 1.0] {
                        let s = Surroundings { air: ZERO_C + air, air_flow: flow, ..around(water) };
                        let p = operating_point(&SPEC, &s, &faults);
                        assert!(p.converged && p.heat.is_finite(), "{air} {water} {flow} {faults:?}: {p:?}");
                    }
                }
            }
        }
    }
}
