//! The refrigerant loop that a sheet describes.

use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_machine::sheet::Serves;
use halfsplit_machine::{Machine, Role};
use halfsplit_refrigeration::compressor::CompressorClass;
use halfsplit_refrigeration::{Duty, Machine as Loop, MeteringKind, Nameplate, Rating, design};

use crate::PlantError;

/// Rating point of a small cold box: freezer air, room of 25 °C. Judgement, in the sizes of common practice.
fn cold_box(inside: f64) -> Rating {
    let c = |t: f64| t + 273.15;
    Rating {
        air: inside,
        humidity: 0.7,
        sink: c(25.0),
        evaporating: inside - 8.0,
        condensing: c(39.0),
        air_drop: 4.0,
        sink_rise: 6.0,
    }
}

/// Rating point of a dehumidifier: room of 27 °C and 60 % (AHAM DH-1 rates at 80 °F and 60 %, from memory); the warm coil
/// gets the cold coil's air. The loop's temperatures are judgement.
fn drier() -> Rating {
    let c = |t: f64| t + 273.15;
    Rating {
        air: c(27.0),
        humidity: 0.6,
        sink: c(19.0),
        evaporating: c(9.0),
        condensing: c(42.0),
        air_drop: 14.0,
        sink_rise: 18.0,
    }
}

/// Whether it is a split: those have a scroll compressor here, others none.
pub(crate) fn is_split(machine: &Machine) -> bool {
    machine.sheet.machine.serves == Serves::RoomAir || machine.find(|r| matches!(r, Role::Coil { .. })).is_some()
}

/// The loop, with what the sheet leaves out as usual for what the machine serves. `heating`: the way in which a split
/// heats its room.
pub(crate) fn size_loop(machine: &Machine, heating: bool) -> Result<Loop, PlantError> {
    let plate = &machine.sheet.nameplate;
    let entry = machine.sheet.refrigerant_loop.as_ref();
    let serves = machine.sheet.machine.serves;
    let split = is_split(machine);
    let refrigerant = match &plate.refrigerant {
        None => Refrigerant::R134a,
        Some(name) => Refrigerant::from_designation(name).ok_or_else(|| PlantError {
            message: format!("nameplate: no refrigerant {name} is known; write it as ASHRAE 34 does, such as R134a"),
        })?,
    };
    let metering = if machine.find(|r| matches!(r, Role::ExpansionValve { .. })).is_some() {
        MeteringKind::Electronic
    } else if machine.find(|r| matches!(r, Role::Capillary { .. })).is_some() {
        MeteringKind::Tube
    } else {
        MeteringKind::Thermostatic
    };
    let inside = machine
        .find(|r| matches!(r, Role::Settings { .. }))
        .and_then(|s| match &machine.parts[s.0].role {
            Role::Settings { setpoint, .. } => Some(machine.params[setpoint.0].nominal),
            _ => None,
        })
        .unwrap_or(255.15);
    let (duty, rating, class, usual) = match serves {
        _ if split && heating => (Duty::HeatsAir, None, CompressorClass::Scroll, 10_000.0),
        _ if split => (Duty::CoolsAir, None, CompressorClass::Scroll, 10_000.0),
        Serves::ColdBox => (Duty::CoolsAir, Some(cold_box(inside)), CompressorClass::Reciprocating, 150.0),
        Serves::DryAir => (Duty::CoolsAir, Some(drier()), CompressorClass::Rotary, 900.0),
        _ => (Duty::HeatsTank, None, CompressorClass::Rotary, 1500.0),
    };
    // A thermostatic valve stands further open at its rating point than one that a board trims.
    let rated_opening = match (metering, heating) {
        (MeteringKind::Thermostatic, false) => 0.85,
        (MeteringKind::Thermostatic, true) => 0.93,
        _ => 0.5,
    };
    design(&Nameplate {
        duty,
        refrigerant,
        capacity: plate.heat_w.unwrap_or(usual),
        charge: plate.charge_kg,
        compressor: class,
        metering,
        superheat: entry.map_or(6.0, |l| l.superheat_k),
        subcooling: entry.map_or(5.0, |l| l.subcooling_k),
        rated_opening,
        rating,
    })
    .map_err(|e| PlantError { message: format!("nameplate: {e}") })
}
