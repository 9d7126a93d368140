//! What a technician types. The first byte says what was asked for, the rest is the text.
#![no_main]

use halfsplit_units::{Dimension, Entry, Preferences, Quantity, Unit, magnitude_query, parse_entry, show};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let Some((&first, rest)) = data.split_first() else { return };
    let Ok(text) = core::str::from_utf8(rest) else { return };
    // Beyond the last dimension: nothing was asked for.
    let asked = Dimension::ALL.get(usize::from(first) % (Dimension::ALL.len() + 1)).copied();
    match parse_entry(text, asked) {
        Ok(entry) => {
            if let Some(asked) = asked {
                let dimension = entry.dimension();
                // A meter's OL may name the unit of its range, which is of what was asked for too.
                assert_eq!(dimension, Some(asked));
            }
            match entry {
                Entry::Value(q) | Entry::AtLeast(q) | Entry::AtMost(q) => check(q),
                Entry::Between { low, high } => {
                    check(low);
                    check(high);
                    assert!(low.si <= high.si);
                    assert_eq!(low.dimension(), high.dimension());
                }
                _ => {}
            }
            let stored = serde_json::to_string(&entry).expect("an entry is JSON");
            let back: Entry = serde_json::from_str(&stored).expect("and reads back");
            assert_eq!(back, entry);
        }
        Err(error) => {
            assert!(error.at + error.len <= text.chars().count());
            assert!(!error.to_string().is_empty());
        }
    }
    let _ = Unit::lookup(text, asked);
});

fn check(quantity: Quantity) {
    let dimension = quantity.dimension();
    assert!(quantity.si.is_finite() && quantity.step >= 0.0 && quantity.step.is_finite());
    assert!(!dimension.never_negative() || quantity.si >= 0.0);
    for preferences in [Preferences::default(), Preferences::US] {
        for uncertainty in [None, Some(quantity.step)] {
            assert!(!show(quantity.si, dimension, &preferences, uncertainty).is_empty());
        }
    }
    let _ = magnitude_query(quantity.si, dimension, quantity.step);
}
