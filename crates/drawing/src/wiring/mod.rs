//! The wiring as a ladder: the supply's two sides as rails, the loads in rungs between them, every terminal named once.

mod describe;
mod graph;
mod layout;
mod symbols;

use halfsplit_workshop::machine::Machine;
use halfsplit_workshop::pictures::WiringView;

use crate::picture::Picture;

/// Draws the wiring of a machine in a state. [`halfsplit_workshop::pictures::wiring_of`] gives the state of a sheet
/// without a job, [`halfsplit_workshop::Job::wiring`] that of a job.
///
/// Every wired terminal of the sheet is drawn once. The picture is 390 wide, or wider where a rung needs it.
#[must_use]
pub fn wiring(machine: &Machine, view: &WiringView) -> Picture {
    let wiring = graph::Wiring::of(machine);
    let mut picture = layout::draw(machine, view, &wiring);
    picture.description = describe::describe(machine, view, &wiring);
    picture
}
