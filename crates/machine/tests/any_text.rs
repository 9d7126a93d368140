//! Whatever text is given, there is a machine or an error that can be said; never a panic.

use halfsplit_machine::Machine;
use proptest::prelude::*;

const DEMO: &str = include_str!("../../../machines/garage-water-heater.toml");

/// Builds; an error must be sayable.
fn survives(text: &str) {
    if let Err(errors) = Machine::build(text) {
        assert!(!errors.0.is_empty());
        let lines = text.lines().count().max(1);
        for e in &errors.0 {
            assert!(!e.to_string().trim().is_empty());
            assert!(e.span.is_none_or(|s| (1..=lines + 1).contains(&s.line) && s.column >= 1), "{e}");
        }
    }
}

/// A number as a careless hand might write it.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<f64>().prop_map(|x| format!("{x:?}")),
        any::<i64>().prop_map(|x| x.to_string()),
        Just("nan".to_owned()),
        Just("-inf".to_owned()),
        Just("1e308".to_owned()),
        Just("0".to_owned()),
        Just("\"12\"".to_owned()),
        Just("[]".to_owned()),
        Just("true".to_owned()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn any_text_at_all(text in ".{0,200}") {
        survives(&text);
    }

    #[test]
    fn text_made_of_the_sheets_own_words(words in prop::collection::vec(
        prop::sample::select(DEMO.split_inclusive(|c: char| c.is_whitespace()).collect::<Vec<_>>()), 0..120)) {
        survives(&words.concat());
    }

    #[test]
    fn the_demo_sheet_cut_off_anywhere(at in 0..DEMO.len()) {
        let cut = (0..=at).rev().find(|i| DEMO.is_char_boundary(*i)).unwrap_or(0);
        survives(&DEMO[..cut]);
    }

    #[test]
    fn the_demo_sheet_with_one_line_missing(line in 0..DEMO.lines().count()) {
        let text: Vec<&str> = DEMO.lines().enumerate().filter(|(i, _)| *i != line).map(|(_, l)| l).collect();
        survives(&text.join("\n"));
    }

    #[test]
    fn the_demo_sheet_with_one_value_exchanged(which in any::<prop::sample::Index>(), value in number()) {
        let lines: Vec<&str> = DEMO.lines().collect();
        let valued: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].contains(" = ")).collect();
        let at = valued[which.index(valued.len())];
        let key = lines[at].split(" = ").next().unwrap_or_default();
        let text: Vec<String> = lines
            .iter()
            .enumerate()
            .map(|(i, l)| if i == at { format!("{key} = {value}") } else { (*l).to_owned() })
            .collect();
        survives(&text.join("\n"));
    }

    /// Inside the inline tables too: `ratings = { opens_c = NUMBER, … }`.
    #[test]
    fn the_demo_sheet_with_one_rating_exchanged(which in any::<prop::sample::Index>(), value in number()) {
        let places: Vec<(usize, usize)> = DEMO
            .match_indices("ratings = {")
            .flat_map(|(at, _)| {
                let end = at + DEMO[at..].find('}').unwrap_or(0);
                DEMO[at + 11..end]
                    .match_indices(" = ")
                    .map(|(i, _)| {
                        let from = at + 11 + i + 3;
                        (from, from + DEMO[from..].find([',', '}']).unwrap_or(0))
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        let (from, to) = places[which.index(places.len())];
        survives(&format!("{}{value}{}", &DEMO[..from], &DEMO[to..]));
    }
}
