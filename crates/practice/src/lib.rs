//! Hidden machines: for practice, and for the evaluation that keeps the engine honest.
//!
//! A [`Hidden`] machine is like the sheet's and never its twin: every value drawn within its spread, faults at
//! degrees between those of the library, a day that is told a little wrong, a meter with noise, now and then a slip,
//! and a model that is wrong in places. [`run()`] makes a visit to one and counts its minutes as the planner does.
//!
//! Everything follows from seeds; this crate knows no clock, thread or file.

mod draw;
mod evaluate;
mod flowchart;
mod hidden;
mod practice;
mod run;

pub use draw::Draw;
pub use evaluate::{
    Bench, Bin, ByName, Common, Contender, Groups, Job, JobResult, Part, PolicyReport, Report, Settings, Share,
    Subject, Telling, jobs, summarise, went_wrong, wilson,
};
pub use flowchart::{Flowchart, FlowchartError};
pub use halfsplit_diagnosis::{Do, Ending, Errand, Judgement, Opening};
pub use halfsplit_machine::{Conditions, Machine, test::Tool};
pub use halfsplit_plant::Plant;
pub use hidden::{Hidden, Stray};
pub use practice::{Debrief, Hide, Mended, Practice};
pub use run::{Guide, OPENING, Run, Step, run};
