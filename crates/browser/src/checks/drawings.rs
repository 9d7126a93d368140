//! The drawings at the machine: each opens, is seen as a picture, can be enlarged, and comes with words.

use serde_json::{Value, json};

use super::pictures::all;
use super::{FULL, PROBED, Stage, must, no_complaints};
use crate::Res;
use crate::hand::{self, Hand};
use crate::page::{PHONE, Page};
use crate::visit::Visit;

pub async fn drawings(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("drawings", PHONE).await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    // Which tests are proposed is the engine's choice; one with two probes can be chosen at any time.
    visit.choose(PROBED).await?;
    Hand::Finger.press(&page, "#draw-wiring", None).await?;
    let flags = caption(&page).await?;
    must(flags.contains("probes at the flags 1 to 2"), || format!("the wiring shows no places for probes: {flags}"))?;
    let seen = page
        .script(
            "const f = document.querySelector('.frame'), i = f.querySelector('img'); \
             return [i.naturalWidth > 0, f.scrollWidth > f.clientWidth, i.alt.length > 10, f.scrollTop + f.scrollLeft > 0]",
            vec![],
        )
        .await?;
    must(seen == json!([true, true, true, true]), || format!("the wiring is not seen as it should be: {seen}"))?;
    all(stage, &page, "4-wiring").await?;
    larger(&page).await?;
    for which in ["loop", "cycle"] {
        Hand::Finger.press(&page, &format!("#draw-{which}"), None).await?;
        caption(&page).await?;
        larger(&page).await?;
        Hand::Finger.press(&page, ".drawing .tools button", Some("Whole width")).await?;
        all(stage, &page, &format!("4-{which}")).await?;
    }
    Hand::Finger.press(&page, ".drawing summary", None).await?;
    let words = page.text(".drawing .words").await?;
    must(words.len() > 60, || format!("the cycle in words: {words}"))?;
    let (side, text) = hand::smallest(&page, ".next button").await?;
    must(side >= 63.5, || format!("\"{text}\" is {side:.0} px"))?;
    no_complaints(&page).await?;
    page.close().await?;
    Ok(format!("wiring ({flags}), loop and cycle: seen, enlarged, in words"))
}

/// What is written over the drawing, once it is there.
async fn caption(page: &Page) -> Res<String> {
    page.wait("the drawing", "return document.querySelector('.drawing img')?.complete === true").await?;
    page.settled().await?;
    page.text(".drawing figcaption").await
}

/// Presses what enlarges, and sees that it does.
async fn larger(page: &Page) -> Res<()> {
    let width = "return document.querySelector('.frame img').getBoundingClientRect().width";
    let before = page.script(width, vec![]).await?;
    Hand::Finger.press(page, ".drawing button[aria-label=larger]", None).await?;
    let after = page.script(width, vec![]).await?;
    let as_number = |v: &Value| v.as_f64().unwrap_or(0.0);
    must(as_number(&after) > 1.2 * as_number(&before), || format!("from {before} to {after} is not larger"))
}
