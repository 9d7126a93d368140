//! Sensors that do not tell the truth: what the board does about it, and what one's own thermometer sees.

use crate::bench::{found, plant, tank_at};
use halfsplit_machine::test::Spot;
use halfsplit_plant::CompressorDoes;

/// An open thermistor is no temperature. At rest the display has none to give either.
#[test]
fn open_is_out_of_range() {
    let plant = plant();
    let f = found(&plant, &["T3:open"], &tank_at(45.0));
    assert_eq!(f.shown_at_rest("T3"), None);
    assert!(f.shown_at_rest("T6").is_some());
}

/// At rest every sensor of air and refrigerant agrees within 1 to 2 K (common practice, no source).
#[test]
fn at_rest_sound_sensors_agree() {
    let plant = plant();
    let f = found(&plant, &[], &tank_at(45.0));
    for sensor in ["T3", "T4", "T6"] {
        let shown = f.shown_at_rest(sensor).expect("a temperature");
        assert!((shown - 20.0).abs() < 1.0, "{sensor} shows {shown:.1}");
    }
    assert!((f.shown_at_rest("T1").expect("a temperature") - 45.0).abs() < 1.0);
}

/// 5 kohm in the plug of a 10 kohm sensor (B 3950 K): at 21 °C the sensor has 11.97 kohm alone, 16.97 kohm through the
/// plug, and the display shows 13.6 °C. Arithmetic on the B-value law of IEC 60539-1.
#[test]
fn resistance_in_a_plug_reads_cold() {
    let plant = plant();
    let mut visit = tank_at(45.0);
    visit.conditions.air = Some(294.15);
    let f = found(&plant, &["T3:plug:of-about-five-kilohms"], &visit);
    assert!((f.shown_at_rest("T3").expect("a temperature") - 13.6).abs() < 0.2);
    assert!((f.shown_at_rest("T6").expect("a temperature") - 21.0).abs() < 0.2);
}

/// The board holds the superheat that it believes. A coil sensor that reads low makes it see too much: it opens the valve
/// until the true superheat is nearly gone; one that reads high makes it close. One's own thermometers tell.
#[test]
fn the_valve_follows_what_the_board_believes() {
    let plant = plant();
    let visit = tank_at(45.0);
    let sound = found(&plant, &[], &visit);
    let cold = found(&plant, &["T3:plug:of-about-five-kilohms"], &visit);
    let hot = found(&plant, &["T3:drift-high:by-a-few-kelvins"], &visit);
    let opening = |f: &crate::bench::Found<'_>| f.settled("heat-pump").point.opening;
    let superheat = |f: &crate::bench::Found<'_>| {
        f.thermometer(Spot::SuctionLine, "heat-pump") - f.thermometer(Spot::EvaporatorCoil, "heat-pump")
    };
    assert!(opening(&cold) > opening(&sound) + 0.01 && opening(&hot) < opening(&sound) - 0.02);
    assert!((superheat(&sound) - 6.0).abs() < 0.5, "{}", superheat(&sound));
    assert!(superheat(&cold) < 4.0 && superheat(&hot) > 9.0, "{} {}", superheat(&cold), superheat(&hot));
    // Case of the trade: plug resistance at about 6 °C costs the display about 4 K against the clamp.
    let clamp = cold.thermometer(Spot::EvaporatorCoil, "heat-pump");
    let shown = cold.shown("T3", "heat-pump").expect("a temperature");
    assert!((2.5..6.0).contains(&(clamp - shown)), "clamp {clamp:.1}, display {shown:.1}");
    // And the board is content: it believes its six kelvin.
    let believed = cold.shown("T4", "heat-pump").expect("a temperature") - shown;
    assert!((believed - 6.0).abs() < 0.6, "{believed:.1}");
}

/// A suction sensor that hangs in the air reads too warm: the board opens the valve as far as it goes.
#[test]
fn a_suction_sensor_out_of_its_place() {
    let plant = plant();
    let f = found(&plant, &["T4:detached"], &tank_at(45.0));
    let p = f.settled("heat-pump");
    assert_eq!(p.compressor, CompressorDoes::Runs);
    assert!(p.point.opening > 0.95 && p.point.superheat < 1.0, "{:?}", p.point);
    // At rest nothing shows: everything is as warm as the air.
    let shown = f.shown_at_rest("T4").expect("a temperature");
    assert!((shown - 20.0).abs() < 1.0, "{shown}");
}

/// Coil and suction plugs exchanged: at rest both agree, running the superheat seems negative. The board shuts the valve on that, which
/// makes it worse; it ends with a hot discharge, or with its watch for missing superheat where that is quicker.
#[test]
fn exchanged_plugs() {
    let plant = plant();
    let f = found(&plant, &["T3:exchanged-T4"], &tank_at(45.0));
    assert!((f.shown_at_rest("T3").expect("°C") - f.shown_at_rest("T4").expect("°C")).abs() < 0.5);
    assert_eq!(f.stored(), ["discharge-hot", "no-superheat"]);
}

/// At rest all agree; the one that does not stands apart. Agreement does not prove that no plugs are exchanged: warmed in the
/// hand, another number moves (common practice, no source).
#[test]
fn what_the_sensor_list_tells_at_rest_and_what_a_warm_hand_tells() {
    let plant = plant();
    let visit = tank_at(45.0);
    let sensors = ["T3", "T4", "T6"];
    let f = found(&plant, &[], &visit);
    assert_eq!((f.stands_apart(&sensors), f.warmed("T3")), (None, 0));
    for fault in ["T3:plug:of-about-five-kilohms", "T3:drift-high:by-a-few-kelvins", "T3:open"] {
        assert_eq!(found(&plant, &[fault], &visit).stands_apart(&sensors), Some("T3"), "{fault}");
    }
    assert_eq!(found(&plant, &["T3:open"], &visit).warmed("T3"), 2);
    let exchanged = found(&plant, &["T3:exchanged-T4"], &visit);
    assert_eq!(exchanged.stands_apart(&sensors), None);
    assert_eq!((exchanged.warmed("T3"), exchanged.warmed("T4"), exchanged.warmed("T6")), (1, 1, 0));
}
