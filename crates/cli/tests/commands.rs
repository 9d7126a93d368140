//! The other subcommands.

mod common;

use common::{OPENING, command, place, root, run, text};

#[test]
fn the_cases_come_out_right() {
    let dir = root().join("cases");
    let mut cases: Vec<String> = std::fs::read_dir(dir)
        .expect("cases")
        .map(|e| e.expect("entry").path())
        .filter(|p| p.extension().is_some_and(|x| x == "txt"))
        .map(|p| p.to_string_lossy().into_owned())
        .collect();
    cases.sort();
    assert!(cases.len() >= 3);
    let args: Vec<&str> = std::iter::once("case").chain(cases.iter().map(String::as_str)).collect();
    let out = run(&place("cases"), &args, "");
    assert!(out.status.success(), "{}{}", text(&out.stdout), text(&out.stderr));
}

#[test]
fn a_case_that_goes_wrong_says_where() {
    let place = place("wrong-case");
    let path = place.join("wrong.txt");
    std::fs::write(
        &path,
        "Wrong\n\n---\ncomplaint = noise\nexpect lead NOBODY:at-home\nexpect K3:welded below 0 %\n--- found\n",
    )
    .expect("written");
    let out = run(&place, &["case", &path.to_string_lossy()], "");
    let said = text(&out.stdout);
    assert_eq!(out.status.code(), Some(1));
    assert!(said.contains("line 5: expected lead NOBODY:at-home; "), "{said}");
    assert!(said.contains("line 6: expected K3:welded below 0 %; it is "), "{said}");
    assert!(said.contains("record it with --update"), "{said}");
    std::fs::write(&path, "Unclear\n---\nohms nowhere = 3 ohm\n").expect("written");
    let out = run(&place, &["case", &path.to_string_lossy()], "");
    assert!(text(&out.stderr).contains("wrong.txt, line 3: there is no test"), "{}", text(&out.stderr));
    // Recording it makes the found part right, and nothing else is touched.
    std::fs::write(&path, "Noise\n---\ncomplaint = noise\n").expect("written");
    assert!(run(&place, &["case", "--update", &path.to_string_lossy()], "").status.success());
    assert!(std::fs::read_to_string(&path).expect("text").starts_with("Noise\n---\ncomplaint = noise\n--- found\n1 "));
    assert!(run(&place, &["case", &path.to_string_lossy()], "").status.success());
}

#[test]
fn a_sheet_that_cannot_be_computed_is_pointed_at() {
    let place = place("bad-sheet");
    let path = place.join("bad.toml");
    let demo = text(&run(&place, &["sheet", "demo"], "").stdout);
    let wrong = demo.replacen("class = \"run capacitor\"", "class = \"run capacitator\"", 1);
    assert_ne!(demo, wrong);
    let line = wrong.lines().position(|l| l.contains("capacitator")).expect("there") + 1;
    std::fs::write(&path, &wrong).expect("written");
    let path = path.to_string_lossy().into_owned();
    let out = run(&place, &["sheet", "check", &path], "");
    assert_eq!(out.status.code(), Some(1));
    let said = text(&out.stderr);
    assert!(said.contains(&format!("line {line}, column ")) && said.contains("run capacitor"), "{said}");
    // No job is opened on it either, and no journal is left behind.
    let out = run(&place, &["job", &path], OPENING);
    assert_eq!(out.status.code(), Some(1));
    assert!(!place.join("halfsplit/jobs").exists());
    let out = run(&place, &["sheet", "check", "no-such-file.toml"], "");
    assert_eq!(out.status.code(), Some(3));
    assert!(text(&out.stderr).contains("no-such-file.toml"));
}

#[test]
fn sheets_and_the_library_can_be_looked_into() {
    let place = place("look");
    for (args, wanted) in [
        (vec!["sheet", "check", "demo"], "It can be computed."),
        (vec!["sheet", "parts", "demo"], "run capacitor"),
        (vec!["sheet", "terminals", "demo"], "COMP.C"),
        (vec!["sheet", "tests", "demo"], "microfarads CRUN"),
        (vec!["sheet", "fields"], "rated_load_a"),
        (vec!["sheet", "schema"], "\"$defs\""),
        (vec!["library"], "run capacitor"),
        (vec!["library", "run capacitor"], "dielectric"),
        (vec!["jobs"], "No jobs in"),
        (vec!["manual"], ".TH halfsplit"),
        (vec!["manual", "job"], "journal"),
    ] {
        let out = run(&place, &args, "");
        assert!(out.status.success(), "{args:?}: {}", text(&out.stderr));
        assert!(text(&out.stdout).contains(wanted), "{args:?}: {}", text(&out.stdout));
    }
    let dead_only = text(&run(&place, &["sheet", "terminals", "demo"], "").stdout);
    let pin = dead_only.lines().find(|l| l.starts_with("COMP.C ")).expect("the common pin");
    assert!(pin.contains("dead only"), "{pin}");
    let out = run(&place, &["library", "run capacitator"], "");
    assert!(text(&out.stderr).contains("did you mean \"run capacitor\""));
}

#[test]
fn every_command_explains_itself_with_an_example() {
    let place = place("help");
    for args in [
        &["job"][..],
        &["jobs"],
        &["sheet"],
        &["sheet", "check"],
        &["sheet", "parts"],
        &["sheet", "terminals"],
        &["sheet", "tests"],
        &["sheet", "fields"],
        &["sheet", "schema"],
        &["library"],
        &["case"],
        &["completions"],
        &["manual"],
    ] {
        let args: Vec<&str> = args.iter().copied().chain(["--help"]).collect();
        let out = run(&place, &args, "");
        assert!(out.status.success());
        let said = text(&out.stdout);
        assert!(said.contains("Example") && said.contains("halfsplit "), "{args:?}: {said}");
    }
    assert!(text(&run(&place, &["--help"], "").stdout).contains("Exit codes:"));
    assert_eq!(run(&place, &["jump"], "").status.code(), Some(2));
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let out = run(&place, &["completions", shell], "");
        assert!(text(&out.stdout).contains("halfsplit"), "{shell}");
    }
}

#[test]
fn the_list_of_jobs_says_how_each_stands() {
    let place = place("jobs");
    run(&place, &["job"], &format!("{OPENING}end declined: too dear\n"));
    let said = text(&run(&place, &["jobs"], "").stdout);
    assert!(said.contains("declined, ") && said.contains("\"It hums and clicks off\""), "{said}");
}

#[test]
fn no_color_and_pipes_get_plain_text() {
    let place = place("plain");
    // `script` gives the program a terminal; without it only the pipe is checked.
    let on_a_terminal = |no_color: bool| {
        let mut c = std::process::Command::new("script");
        c.args(["-qec", &format!("{} job", env!("CARGO_BIN_EXE_halfsplit")), "/dev/null"])
            .env("XDG_STATE_HOME", &place)
            .env("TERM", "xterm")
            .stdin(std::process::Stdio::null())
            .stdout(std::process::Stdio::piped());
        if no_color {
            c.env("NO_COLOR", "1");
        } else {
            c.env_remove("NO_COLOR");
        }
        c.output().ok().map(|o| text(&o.stdout))
    };
    if let (Some(with), Some(without)) = (on_a_terminal(false), on_a_terminal(true)) {
        assert!(with.contains("\u{1b}[1m"), "{with:?}");
        assert!(!without.contains("\u{1b}[1m"), "{without:?}");
    }
    let out = command(&place, &["job"]).stdin(std::process::Stdio::null()).output().expect("runs");
    assert!(!text(&out.stdout).contains('\u{1b}'));
}
