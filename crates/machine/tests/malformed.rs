//! Every kind of fault in a sheet: the message names the part and the value, points at the line, and says what to do
//! next. The demo sheet is spoilt in one place at a time; the whole message is in the snapshot beside each test.

use halfsplit_machine::Machine;

const DEMO: &str = include_str!("../../../machines/garage-water-heater.toml");

/// The demo sheet with one piece of text exchanged.
fn spoilt(from: &str, to: &str) -> String {
    assert_eq!(DEMO.matches(from).count(), 1, "`{from}` must stand once in the demo sheet");
    DEMO.replace(from, to)
}

/// What is said about a sheet that must not build.
fn said(text: &str) -> String {
    let errors = Machine::build(text).expect_err("the sheet must be refused");
    for e in &errors.0 {
        assert!(e.span.is_some() && e.excerpt.is_some(), "no line is pointed at: {e}");
        assert!(!e.what.trim().is_empty() && !e.hint.trim().is_empty(), "nothing is said or advised: {e}");
    }
    errors.to_string()
}

/// One test per way to spoil a sheet.
macro_rules! refused {
    ($($name:ident: $from:expr => $to:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(said(&spoilt($from, $to)));
        }
    )*};
}

refused! {
    // The text itself.
    text_that_is_no_toml: "class = \"fuse\"" => "class = \"fuse";
    unknown_field: "rated_load_a = 2.6" => "rated_load = 2.6";
    missing_field: "kind = \"integrated heat pump water heater\"" => "";
    value_of_the_wrong_kind: "hertz = 60" => "hertz = \"sixty\"";
    same_key_twice: "hertz = 60" => "hertz = 60\nhertz = 50";
    rating_that_is_neither_number_nor_word: "ratings = { rated_a = 3 }" => "ratings = { rated_a = true }";
    other_format: "sheet = 1" => "sheet = 2";

    // Names that lead nowhere.
    unknown_class: "class = \"fuse\"" => "class = \"fuze\"";
    unknown_rating: "ratings = { rated_a = 3 }" => "ratings = { rated_amps = 3 }";
    rating_of_a_class_without: "id = \"EVAP\"\nclass = \"evaporator coil\"" => "id = \"EVAP\"\nratings = { tubes = 4 }\nclass = \"evaporator coil\"";
    unknown_terminal: "terminals = { 1 = \"CM\", 2 = \"L2E\" }" => "terminals = { 1 = \"CM\", 3 = \"L2E\" }";
    unknown_place: "id = \"F1\"\nclass = \"fuse\"\nname = \"control fuse\"\nplace = \"front\"" => "id = \"F1\"\nclass = \"fuse\"\nname = \"control fuse\"\nplace = \"back\"";
    place_behind_nothing: "behind = \"top\"" => "behind = \"roof\"";
    reach_of_an_unwired_terminal: "reach = { 2 = \"front\", 4 = \"front\" }" => "reach = { 2 = \"front\", 9 = \"front\" }";
    dead_only_of_an_unwired_terminal: "reach = { 2 = \"front\", 4 = \"front\" }" => "dead_only = [\"7\"]";
    assumed_but_no_rating: "ratings = { trips_a = 30, load_a = 18.5, earth_leakage_ma = 30 }" => "ratings = { trips_a = 30, earth_leakage_ma = 30 }\nassumed = [\"trips\"]";

    // Names twice.
    two_parts_of_one_name: "id = \"F1\"" => "id = \"ECO\"";
    two_places_of_one_name: "[[place]]\nid = \"front\"" => "[[place]]\nid = \"front\"\nname = \"elsewhere\"\n\n[[place]]\nid = \"front\"";
    two_commands_of_one_name: "id = \"force-lower\"" => "id = \"force-upper\"";
    id_with_a_space: "id = \"F1\"" => "id = \"F 1\"";

    // Wiring that cannot be computed.
    dangling_wire: "terminals = { 1 = \"FN\", 2 = \"L2E\" }" => "terminals = { 1 = \"FN9\", 2 = \"L2E\" }";
    terminal_left_out: "terminals = { C = \"CM\", R = \"R\", S = \"S\" }" => "terminals = { C = \"CM\", R = \"R\" }";
    floating_circuit: "id = \"FILTER\"" => "id = \"F8\"\nclass = \"fuse\"\nterminals = { 1 = \"X\", 2 = \"Y\" }\nratings = { rated_a = 3 }\n\n[[part]]\nid = \"F9\"\nclass = \"fuse\"\nterminals = { 1 = \"X\", 2 = \"Y\" }\nratings = { rated_a = 3 }\n\n[[part]]\nid = \"FILTER\"";
    no_earth: "earth = true" => "earth = false";

    // Ratings.
    missing_rating: "ratings = { opens_c = 77, resets_c = 57 }" => "ratings = { opens_c = 77 }";
    rating_out_of_range: "microfarad = 12.5" => "microfarad = 12500";
    rating_of_the_wrong_kind: "phase_ohm = 46" => "phase_ohm = \"46\"";
    element_without_watts_or_ohms: "ratings = { watts = 4500, ohm = 12.8, upper = 1 }" => "ratings = { upper = 1 }";
    resets_above_opening: "resets_c = 57" => "resets_c = 80";
    locked_rotor_below_rated: "locked_rotor_a = 11.0" => "locked_rotor_a = 1.1";
    no_locked_rotor_current: "locked_rotor_a = 11.0" => "";
    no_supply_voltage: "volts = 240" => "volts = 0";
    no_mains_frequency: "hertz = 60" => "hertz = 400";
    minutes_below_zero: "name = \"at the breaker panel\"\nminutes = 2" => "name = \"at the breaker panel\"\nminutes = -2";

    // Sensors.
    sensor_at_an_unknown_spot: "senses = \"evaporator coil\"" => "senses = \"evaporator\"";
    sensor_nowhere: "senses = \"evaporator coil\", " => "";
    sensor_without_beta: "r25_ohm = 50000, beta_k = 3950" => "r25_ohm = 50000";
    sensor_with_two_coefficients: "r25_ohm = 50000, beta_k = 3950" => "steinhart_hart = [1e-3, 2e-4]";
    sensor_with_a_rising_table: "r25_ohm = 50000, beta_k = 3950" => "table_c_ohm = [[0, 1000], [25, 2000]]";
    sensor_that_watches_no_relay: "ratings = { relay = \"K1\" }" => "ratings = { relay = \"K9\" }";

    // Loop, commands, detections.
    loop_through_no_part: "order = [\"COMP\", \"COND\", \"EEV\", \"EVAP\"]" => "order = [\"COMP\", \"COND\", \"TXV\", \"EVAP\"]";
    loop_without_compressor: "order = [\"COMP\", \"COND\", \"EEV\", \"EVAP\"]" => "order = [\"COND\", \"EEV\", \"EVAP\"]";
    command_of_no_relay: "name = \"fan\"\nlasts_s = 120\non = [\"K2\"]" => "name = \"fan\"\nlasts_s = 120\non = [\"K7\"]";
    command_of_something_else: "name = \"fan\"\nlasts_s = 120\non = [\"K2\"]" => "name = \"fan\"\nlasts_s = 120\non = [\"FAN\"]";
    stage_without_time: "lasts_s = 14400" => "lasts_s = 0";
    detection_that_cannot_see: "part = \"T5\"\nabove = 110" => "part = \"CT1\"\nabove = 110";
    detection_without_part: "part = \"T5\"\nabove = 110" => "above = 110";
    detection_while_no_relay: "for_s = 30\nwhile_on = \"K1\"" => "for_s = 30\nwhile_on = \"COMP\"";
    detection_of_no_part: "part = \"T5\"\nabove = 110" => "part = \"T9\"\nabove = 110";
}

#[test]
fn no_parts_at_all() {
    let text = DEMO.split("# ---------------------------------------------------------------- mains side").next();
    insta::assert_snapshot!(said(text.expect("the head of the sheet")));
}

#[test]
fn an_empty_sheet() {
    let errors = Machine::build("").expect_err("nothing is no machine");
    insta::assert_snapshot!(errors.to_string());
}

/// Several faults are told together, each with its own line, in one go.
#[test]
fn all_faults_are_told_at_once() {
    let text = spoilt("class = \"fuse\"", "class = \"fuze\"").replace("microfarad = 12.5", "microfarad = -1");
    let errors = Machine::build(&text).expect_err("two faults");
    let lines: Vec<usize> = errors.0.iter().filter_map(|e| e.span).map(|s| s.line).collect();
    let find = |what: &str| 1 + text.lines().position(|l| l.contains(what)).expect("in the text");
    assert!(lines.contains(&find("fuze")), "{errors}");
    assert!(lines.contains(&find("microfarad = -1")), "{errors}");
}

/// The demo sheet whose board is fed in one of two ways, with one piece of the question exchanged.
fn unsure(from: &str, to: &str) -> String {
    const QUESTION: &str = "
[[unsure]]
id = \"CUT-OFF-FEED\"
question = \"Does the cut-off feed the board?\"
place = \"front\"
[[unsure.way]]
says = \"it feeds the board too\"
share = 0.7
joins = [[\"L1E\", \"BFEED\"], [\"L2E\", \"BRET\"]]
[[unsure.way]]
says = \"it feeds the loads only\"
share = 0.3
joins = [[\"L1\", \"BFEED\"], [\"L2\", \"BRET\"]]
";
    assert_eq!(QUESTION.matches(from).count(), 1, "`{from}` must stand once in the question");
    spoilt("terminals = { 1 = \"L1E\", 2 = \"BP\" }", "terminals = { 1 = \"BFEED\", 2 = \"BP\" }")
        .replace("L = \"BP\", N = \"L2E\"", "L = \"BP\", N = \"BRET\"")
        + &QUESTION.replace(from, to)
}

#[test]
fn a_question_of_structure_builds() {
    let m = Machine::build(&unsure("share = 0.7", "share = 0.7")).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(m.unsure().count(), 1);
}

macro_rules! question_refused {
    ($($name:ident: $from:expr => $to:expr;)*) => {$(
        #[test]
        fn $name() {
            insta::assert_snapshot!(said(&unsure($from, $to)));
        }
    )*};
}

question_refused! {
    question_with_the_id_of_a_part: "id = \"CUT-OFF-FEED\"" => "id = \"ECO\"";
    question_with_one_way: "[[unsure.way]]\nsays = \"it feeds the loads only\"\nshare = 0.3\njoins = [[\"L1\", \"BFEED\"], [\"L2\", \"BRET\"]]\n" => "";
    question_with_shares_beyond_one: "share = 0.3" => "share = 0.6";
    question_with_a_share_of_nothing: "share = 0.3" => "share = 0.0";
    question_with_a_wire_of_nobody: "[\"L2\", \"BRET\"]]" => "[\"L3\", \"BRET\"]]";
    question_with_a_wire_to_itself: "[\"L2\", \"BRET\"]]" => "[\"L2\", \"L2\"]]";
    question_with_two_ways_alike: "[[\"L1\", \"BFEED\"], [\"L2\", \"BRET\"]]" => "[[\"L2E\", \"BRET\"], [\"BFEED\", \"L1E\"]]";
    question_seen_at_no_place: "place = \"front\"" => "place = \"back\"";
    question_outside_the_mains: "[\"L2\", \"BRET\"]]" => "[\"L2\", \"BRET\"], [\"T1\", \"GND\"]]";
    question_round_the_breaker: "[\"L2\", \"BRET\"]]" => "[\"S2\", \"BRET\"]]";
    question_with_minutes_below_zero: "place = \"front\"" => "place = \"front\"\nminutes = -1";
    question_with_an_unknown_field: "place = \"front\"" => "where = \"front\"";
}
