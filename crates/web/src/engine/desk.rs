//! Where questions from the page arrive.

use std::cell::RefCell;

use halfsplit_web::Desk;
use wasm_bindgen::prelude::*;

thread_local! {
    static DESK: RefCell<Desk> = RefCell::new(Desk::default());
}

/// Answers a question in JSON; see [`Desk::answer`].
#[wasm_bindgen]
pub fn answer(asked: &str) -> String {
    DESK.with_borrow_mut(|desk| desk.answer(asked))
}
