//! Whole jobs at the prompt.

mod common;

use std::io::{BufRead, BufReader, Write};
use std::process::Stdio;

use common::{OPENING, command, journal, place, run, text};
use halfsplit_workshop::Job;
use halfsplit_workshop::journal::{Kind, decode};

const TO_THE_END: &str = "\
watch COMP while heat-pump = hums 7 s then silent
report isolated
report discharged
report dead
microfarads CRUN = 1.2 nF

did CRUN/replace
report live
watch COMP while heat-pump = runs
proved
end repaired: capacitor moved away from the shell
";

#[test]
fn a_job_from_the_first_question_to_the_end() {
    let place = place("whole-job");
    let out = run(&place, &["job"], &format!("{OPENING}{TO_THE_END}"));
    let said = text(&out.stdout);
    assert!(out.status.success(), "{said}{}", text(&out.stderr));
    assert!(said.contains("STILL POSSIBLE") && said.contains("run capacitor CRUN: open"), "{said}");
    assert!(said.contains("Repaired."), "{said}");
    // No control characters in a pipe.
    assert!(!said.contains('\u{1b}'));
    assert!(said.lines().all(|l| l.chars().count() <= 100 || l.contains("jsonl")), "too wide");

    let text = std::fs::read_to_string(journal(&place)).expect("journal");
    let decoded = decode(&text);
    assert!(decoded.damage.is_empty());
    let kinds: Vec<&str> = decoded.events.iter().map(|e| e.kind.name()).collect();
    assert_eq!(kinds.first(), Some(&"opened"));
    assert_eq!(kinds.last(), Some(&"ended"));
    assert!(kinds.contains(&"advised") && kinds.contains(&"repaired") && kinds.contains(&"proving_run"));
    let Kind::Opened(o) = &decoded.events[0].kind else { panic!("opening") };
    assert_eq!(o.complaint, "It hums and clicks off");
    assert_eq!(o.shown_code.as_deref(), Some("compressor does not run"));
    assert!(o.sheet_text.contains("[machine]"));

    // Replay gives the same view to the last bit, twice.
    let j = decoded.into_journal().expect("header");
    let once = serde_json::to_string(&Job::replay(&j).expect("replays").view()).expect("json");
    let twice = serde_json::to_string(&Job::replay(&j).expect("replays").view()).expect("json");
    assert_eq!(once, twice);
}

/// Beside the proving run stands how a sound machine warms its tank: 190 L through 35 K are 7.7 kWh of heat (1.163 Wh per litre and
/// kelvin, ASHRAE Handbook — Fundamentals), some five hours (common practice, no source).
#[test]
fn the_proving_run_says_how_long_a_heat_up_takes() {
    let place = place("heat-up");
    let seen = "look FILTER blockage = clean\nlook EVAP fouling = clean\n";
    let out = run(&place, &["job"], &format!("{OPENING}{seen}{TO_THE_END}"));
    let said = text(&out.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("PROVE IT: run the machine"), "{said}");
    assert!(said.contains("half an hour by the compressor warms water of about 35 °C by"), "{said}");
    assert!(said.contains("a full heat-up from 15 °C to 50 °C by the compressor alone"), "{said}");
    assert!(["takes about 4 h", "takes about 5 h"].iter().any(|hours| said.contains(hours)), "{said}");
}

#[test]
fn what_the_power_rules_out_is_refused_and_said() {
    let place = place("power");
    let out = run(
        &place,
        &["job"],
        &format!(
            "{OPENING}microfarads CRUN = 12.4 uF\nreport dead\nreport isolated\nreport dead\nmicrofarads CRUN = 12.4 uF\nreport discharged\nmicrofarads CRUN = 12.4 uF\nwatch COMP while heat-pump = runs\nlist\n"
        ),
    );
    let said = text(&out.stdout);
    assert!(said.contains("capacitance on a live or charged part"), "{said}");
    assert!(said.contains("report isolated, report discharged, report dead"), "{said}");
    assert!(said.contains("proved dead cannot be reported while nobody has reported the supply isolated"), "{said}");
    assert!(said.contains("needs the machine powered, but it was reported isolated"), "{said}");
    let readings = decode(&std::fs::read_to_string(journal(&place)).expect("journal"))
        .events
        .iter()
        .filter(|e| matches!(&e.kind, Kind::Reading(r) if r.test == "microfarads CRUN"))
        .count();
    assert_eq!(readings, 1, "only the one that everything was reported for");
}

#[test]
fn impossible_readings_and_unknown_units_are_refused_with_a_way_out() {
    let place = place("impossible");
    let out = run(
        &place,
        &["job"],
        &format!(
            "{OPENING}report isolated\nreport discharged\nreport dead\nohms COMP.C-COMP.R off = -4 ohm\nmicrofarads CRUN = 12 parsec\nmicrofarads CRUN = 12 V\nmicrofarads CRIN = 12 uF\nskip\nend somehow\n"
        ),
    );
    let said = text(&out.stdout);
    for wanted in [
        "cannot be below zero",
        "\"parsec\" is not a unit",
        "but a capacitance was asked for",
        "there is no test \"microfarads CRIN\"; did you mean \"microfarads CRUN\"",
        "skip for what reason?",
        "end how?",
    ] {
        assert!(said.contains(wanted), "{wanted} in {said}");
    }
    let text = std::fs::read_to_string(journal(&place)).expect("journal");
    assert!(!text.contains("parsec") && !text.contains("-4 ohm"));
}

#[test]
fn a_reading_off_by_a_thousand_is_asked_back_and_kept_if_meant() {
    let place = place("ask-back");
    let ready = "report isolated\nreport discharged\nreport dead\n";
    let out = run(
        &place,
        &["job"],
        &format!("{OPENING}{ready}microfarads CRUN = 12.5 nF\nyes\nmicrofarads CRUN = 12.5 nF\n\nlist\n"),
    );
    let said = text(&out.stdout);
    assert!(said.contains("Was 12.5 µF meant?"), "{said}");
    assert!(said.contains("typed \"12.5 µF\"") && said.contains("typed \"12.5 nF\""), "{said}");
}

#[test]
fn undo_takes_back_and_keeps_the_record() {
    let place = place("undo");
    let out = run(&place, &["job"], &format!("{OPENING}watch COMP while heat-pump = silent\nundo\nlist\n"));
    let said = text(&out.stdout);
    assert!(said.contains("Taken back: watch COMP while heat-pump = silent"), "{said}");
    let decoded = decode(&std::fs::read_to_string(journal(&place)).expect("journal"));
    assert!(decoded.events.iter().any(|e| matches!(&e.kind, Kind::Reading(r) if r.as_typed == "silent")));
    // As if it had never been entered, but for the record of it.
    let j = decoded.into_journal().expect("header");
    let mut with = Job::replay(&j).expect("replays");
    let mut without = j.clone();
    without.events.retain(|e| {
        !matches!(&e.kind, Kind::Undone { .. }) && !matches!(&e.kind, Kind::Reading(r) if r.as_typed == "silent")
    });
    let mut without = Job::replay(&without).expect("replays");
    assert_eq!(with.view().still_possible, without.view().still_possible);
}

#[test]
fn a_job_that_was_killed_goes_on_where_it_was() {
    let place = place("killed");
    let mut child = command(&place, &["job"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("starts");
    let mut stdin = child.stdin.take().expect("pipe");
    let entered =
        format!("{OPENING}watch COMP while heat-pump = hums 7 s then silent\nnote smell of burnt dust\nlist\n");
    stdin.write_all(entered.as_bytes()).expect("written");
    stdin.flush().expect("flushed");
    // The list shows the note: its event is on disk before that. Then it is killed without warning.
    let mut lines = BufReader::new(child.stdout.take().expect("pipe")).lines();
    assert!(lines.by_ref().any(|l| l.expect("text").contains("noted")), "the list came");
    child.kill().expect("killed");
    child.wait().expect("gone");
    drop(stdin);

    let path = journal(&place);
    let decoded = decode(&std::fs::read_to_string(&path).expect("journal"));
    assert!(decoded.damage.is_empty(), "{:?}", decoded.damage);
    let name = path.file_stem().expect("name").to_string_lossy().into_owned();
    let out = run(&place, &["job", "--continue", &name], "list\n");
    let said = text(&out.stdout);
    assert!(out.status.success(), "{said}");
    assert!(said.contains("watch COMP while heat-pump = hums, then stops"), "{said}");
    assert!(said.contains("smell of burnt dust"), "{said}");
}

#[test]
fn a_journal_that_was_cut_off_is_gone_on_with_and_the_loss_is_said() {
    let place = place("cut-off");
    run(&place, &["job"], &format!("{OPENING}watch COMP while heat-pump = silent\nnote last words\n"));
    let path = journal(&place);
    let whole = std::fs::read(&path).expect("journal");
    let cut = whole.len() - 40;
    std::fs::write(&path, &whole[..cut]).expect("written");
    let out = run(&place, &["job", "--continue", &path.to_string_lossy()], "note and on\nlist\n");
    let said = text(&out.stdout);
    assert!(said.contains("The journal is damaged") && said.contains("nothing was removed"), "{said}");
    assert!(said.contains("watch COMP while heat-pump = silent"), "{said}");
    assert!(said.contains("and on"), "{said}");
    // Every byte that was there is there still.
    assert_eq!(std::fs::read(&path).expect("journal")[..cut], whole[..cut]);
    let again = decode(&std::fs::read_to_string(&path).expect("journal"));
    assert!(again.events.iter().any(|e| matches!(&e.kind, Kind::Observation(o) if o.words == "and on")));
    // What is no journal at all is refused.
    std::fs::write(&path, "nonsense\n").expect("written");
    let out = run(&place, &["job", "--continue", &path.to_string_lossy()], "");
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("is no journal that can be gone on with"));
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_said_and_nothing_is_pretended() {
    // A limit on the size of files stands for a full disk: the opening fits, with the sheet in it, and little more.
    let place = place("full-disk");
    let open = run(&place, &["job"], OPENING);
    assert!(open.status.success());
    let path = journal(&place);
    let before = std::fs::read(&path).expect("journal");
    let blocks = before.len().div_ceil(1024) + 1;
    let script = format!(
        "trap '' XFSZ; ulimit -f {blocks}; exec {} job --continue {}",
        env!("CARGO_BIN_EXE_halfsplit"),
        path.display()
    );
    let notes: String = (0..20).map(|i| format!("note number {i} {}\n", "x".repeat(200))).collect();
    let mut child = std::process::Command::new("bash")
        .args(["-c", &script])
        .env("XDG_STATE_HOME", &place)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("bash starts");
    let mut stdin = child.stdin.take().expect("pipe");
    stdin.write_all(notes.as_bytes()).expect("written");
    drop(stdin);
    let out = child.wait_with_output().expect("ends");
    assert_eq!(out.status.code(), Some(3), "{}", text(&out.stderr));
    assert!(text(&out.stderr).contains("cannot write to the journal"), "{}", text(&out.stderr));
    let decoded = decode(&std::fs::read_to_string(&path).expect("journal"));
    assert!(decoded.damage.is_empty(), "no half line is left: {:?}", decoded.damage);
    let kept = decoded.events.iter().filter(|e| matches!(e.kind, Kind::Observation(_))).count();
    assert!(kept < 20);
    // With room again it goes on from there.
    let out = run(&place, &["job", "--continue", &path.to_string_lossy()], "note there is room\nlist\n");
    let said = text(&out.stdout);
    assert!(said.contains("there is room"), "{said}");
    assert_eq!(said.matches("number ").count(), kept, "{said}");
}

#[test]
fn two_programs_do_not_write_one_journal() {
    let place = place("locked");
    let mut first = command(&place, &["job"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("starts");
    let mut stdin = first.stdin.take().expect("pipe");
    stdin.write_all(format!("{OPENING}list\n").as_bytes()).expect("written");
    stdin.flush().expect("flushed");
    let mut lines = BufReader::new(first.stdout.take().expect("pipe")).lines();
    assert!(lines.by_ref().any(|l| l.expect("text").contains("SO FAR")));
    let out = run(&place, &["job", "--continue", &journal(&place).to_string_lossy()], "");
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("is open in another halfsplit"), "{}", text(&out.stderr));
    drop(stdin);
    first.wait().expect("ends");
}

#[test]
fn skipping_suppose_why_other_and_endings() {
    let place = place("words");
    let out = run(
        &place,
        &["job"],
        &format!(
            "{OPENING}other microfarads crun\nsuppose 2.1 uF\nback\ndid\nproved\nwhy\nwhy CRUN:nothing\nskip can't reach\nleft 15 min\nother nosuchthing\nend repaired\nend made safe: leaking\n"
        ),
    );
    let said = text(&out.stdout);
    for wanted in [
        "Microfarads of run capacitor CRUN",
        "SUPPOSE: microfarads CRUN = 2.10 µF",
        "WHY: ",
        "no repair is proposed yet; if one was made all the same, name it: did CRUN/replace",
        "nothing has been done yet that a run could prove",
        "there is no suspect \"CRUN:nothing\"",
        "no test has all of the words \"nosuchthing\"",
        "nothing has been repaired as far as this job knows",
        "Made safe and left.",
    ] {
        assert!(said.contains(wanted), "{wanted} in {said}");
    }
}
