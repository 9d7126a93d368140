//! The text of a machine sheet: read, joined with the part library, and every error said.
#![no_main]

use halfsplit_machine::Machine;
use halfsplit_machine::sheet::Sheet;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let sheet = Sheet::parse(text);
    match Machine::build(text) {
        Ok(_) => assert!(sheet.is_ok(), "built from a sheet that cannot be read"),
        Err(errors) => assert!(!errors.to_string().is_empty()),
    }
});
