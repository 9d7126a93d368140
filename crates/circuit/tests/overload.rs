#![allow(
    clippy::disallowed_methods,
    reason = "tests may use the platform's functions"
)]

//! The thermal overload: closed forms of its first-order law, and the figures it was calibrated to. The figures
//! themselves (seven seconds at locked rotor, temperatures) are common practice, no source.

use halfsplit_circuit::overload::{Overload, OverloadError, OverloadRating};

fn close(got: f64, expected: f64, tolerance: f64) {
    assert!(
        (got - expected).abs() <= tolerance,
        "got {got}, expected {expected}"
    );
}

const ROOM: f64 = 298.15;

fn rating() -> OverloadRating {
    OverloadRating {
        opens_at: 393.15,
        closes_at: 343.15,
        carries: (3.5, 358.15),
        trips: (11.0, ROOM, 7.0),
        cooling: 240.0,
    }
}

#[test]
fn meets_its_rating() {
    let overload = Overload::calibrated(&rating()).unwrap();
    close(overload.time_to_trip(11.0, ROOM, ROOM).unwrap(), 7.0, 1e-9);
    close(overload.carries(358.15), 3.5, 1e-12);
    assert_eq!(
        overload.time_to_trip(2.6, ROOM, ROOM),
        None,
        "never at rated current when cool"
    );
    assert_eq!(overload.time_to_trip(3.499, 358.15, 358.15), None);
    assert!(overload.time_to_trip(3.6, 358.15, 358.15).is_some());
    assert_eq!(overload.time_to_trip(1.0, ROOM, 400.0), Some(0.0));
    // A hot shell trips at a current that a cool one carries, and a second try trips sooner than the first.
    assert!(overload.time_to_trip(3.8, 370.0, 370.0).is_some());
    assert!(overload.time_to_trip(11.0, 340.0, 343.15).unwrap() < 4.0);
}

/// The law itself, integrated step by step, against the closed form.
#[test]
fn agrees_with_integration_of_its_law() {
    let overload = Overload::calibrated(&rating()).unwrap();
    let (amps, shell) = (8.0, 310.0);
    let mut temperature = shell;
    let mut seconds = 0.0;
    let step = 1e-4;
    while temperature < overload.opens_at {
        let slope = |t: f64| (shell + overload.rise * amps * amps - t) / overload.heating;
        temperature += step * slope(temperature + 0.5 * step * slope(temperature));
        seconds += step;
    }
    close(
        overload.time_to_trip(amps, shell, shell).unwrap(),
        seconds,
        2.0 * step,
    );
    close(
        overload.temperature_after(seconds, amps, shell, shell),
        overload.opens_at,
        1e-2,
    );
}

#[test]
fn resets_when_the_shell_lets_it() {
    let overload = Overload::calibrated(&rating()).unwrap();
    let cool = overload.time_to_reset(ROOM, 393.15).unwrap();
    // exp(-t/240) = 45/95
    close((-cool / 240.0).exp(), 45.0 / 95.0, 1e-12);
    let warm = overload.time_to_reset(330.0, 393.15).unwrap();
    assert!(warm > cool);
    assert_eq!(
        overload.time_to_reset(350.0, 393.15),
        None,
        "shell still too hot"
    );
    assert_eq!(overload.time_to_reset(ROOM, 340.0), Some(0.0));
    close(
        overload.temperature_after_open(cool, ROOM, 393.15),
        343.15,
        1e-9,
    );
}

#[test]
fn impossible_ratings_are_refused() {
    let with = |change: fn(&mut OverloadRating)| {
        let mut r = rating();
        change(&mut r);
        Overload::calibrated(&r)
    };
    assert_eq!(with(|r| r.closes_at = 400.0), Err(OverloadError::Order));
    assert_eq!(with(|r| r.trips.2 = f64::NAN), Err(OverloadError::Order));
    assert_eq!(with(|r| r.carries.1 = 400.0), Err(OverloadError::Order));
    assert!(matches!(
        with(|r| r.trips.0 = 3.0),
        Err(OverloadError::NeverTrips { .. })
    ));
}
