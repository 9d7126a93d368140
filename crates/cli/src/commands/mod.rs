//! The subcommands, one file each.

mod case;
mod completions;
mod drawing;
mod evaluate;
mod job;
mod jobs;
mod library;
mod manual;
mod picture;
mod practice;
mod sheet;
mod start;
mod value;

use crate::failure::Failure;

/// What can be asked for.
#[derive(clap::Subcommand)]
pub enum Command {
    /// Work on a job: from the customer's words to the proving run.
    Job(job::Args),
    /// List the jobs kept on this device.
    Jobs(jobs::Args),
    /// Check a machine sheet, or look into it.
    Sheet(sheet::Args),
    /// The part library's manual: how parts work, fail and are tested.
    Library(library::Args),
    /// Work out one of the trade's values: saturation, superheat, thermistors, capacitors, leak tests and more.
    Value(value::Args),
    /// Draw the pressure–enthalpy picture of a circuit.
    Picture(picture::Args),
    /// Practise on a hidden fault, with a debrief in minutes.
    Practice(practice::Args),
    /// Draw the wiring, the refrigerant loop, its cycle, or the cut that the next test makes.
    Drawing(drawing::Args),
    /// Run text cases: what was entered and what is expected.
    Case(case::Args),
    /// Measure how well the diagnosis does on hidden machines.
    Evaluate(evaluate::Args),
    /// Write completions for a shell.
    Completions(completions::Args),
    /// Write the manual page (roff, for `man`).
    Manual(manual::Args),
}

/// Does what was asked for.
pub fn run(command: Command, cli: &mut clap::Command) -> Result<(), Failure> {
    match command {
        Command::Job(a) => job::run(&a),
        Command::Jobs(a) => jobs::run(&a),
        Command::Sheet(a) => sheet::run(&a),
        Command::Library(a) => library::run(&a),
        Command::Value(a) => value::run(&a),
        Command::Picture(a) => picture::run(&a),
        Command::Practice(a) => practice::run(&a),
        Command::Drawing(a) => drawing::run(&a),
        Command::Case(a) => case::run(&a),
        Command::Evaluate(a) => evaluate::run(&a),
        Command::Completions(a) => completions::run(&a, cli),
        Command::Manual(a) => manual::run(&a, cli),
    }
}
