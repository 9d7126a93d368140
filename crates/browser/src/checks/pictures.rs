//! Pictures of every face of the app at three sizes in light and dark, for people to look at. What a machine can see is
//! checked on the way: nothing sticks out at the side, and what is pressed is large enough for a gloved thumb.

use std::fs;

use base64::Engine as _;
use serde_json::{Value, json};

use super::{FULL, PROBED, Stage, must};
use crate::Res;
use crate::hand::{self, Hand};
use crate::page::{DESK, PHONE, Page, TABLET};
use crate::visit::Visit;

/// Targets at the machine, in CSS pixels; elsewhere 44, as WCAG 2.2, success criterion 2.5.5 has it (from memory).
const AT_MACHINE: f64 = 64.0;
const ELSEWHERE: f64 = 44.0;

pub async fn pictures(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("pictures", PHONE).await?;
    let mut taken = 0;
    taken += all(stage, &page, "1-opening").await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    // The way to a dead machine, at a test of one's own choice.
    let id = visit.choose(PROBED).await?;
    must(page.shows("#step-report-isolated", None).await?, || "ohms are not preceded by reports of the power".into())?;
    taken += all(stage, &page, "2-report").await?;
    visit.take(&id).await?;
    let mut seen: Vec<String> = Vec::new();
    loop {
        let view = visit.agreed().await?;
        let name = face(&view["next"]);
        if !seen.contains(&name) {
            taken += all(stage, &page, &format!("2-{name}")).await?;
            seen.push(name);
        }
        if !visit.step().await? {
            break;
        }
    }
    taken += endings(stage, &page).await?;
    page.close().await?;
    for expected in ["words", "number", "repair", "closed"] {
        must(seen.iter().any(|s| s == expected), || format!("the job never showed \"{expected}\", only {seen:?}"))?;
    }
    Ok(format!("{taken} pictures in {}", stage.settings.artefacts.display()))
}

/// Every ending of a job that is closed: what it asks, what it says when it is closed, and what the customer sees.
async fn endings(stage: &Stage<'_>, page: &Page) -> Res<usize> {
    let (hand, mut taken) = (Hand::Finger, 0);
    for (ending, words) in ENDINGS {
        hand.press(page, "#reopen", None).await?;
        page.wait("the job open again", "return !!document.querySelector('#endings')").await?;
        page.settled().await?;
        hand.press(page, "#endings > summary", None).await?;
        hand.press(page, "#endings button", Some(words)).await?;
        page.wait("what the ending asks", "return !!document.querySelector('#close-note')").await?;
        hand.write(page, "#close-note", "Call again in May.").await?;
        taken += all(stage, page, &format!("8-sign-{ending}")).await?;
        hand.press(page, "#close", None).await?;
        page.wait("the job closed", "return !!document.querySelector('#reopen')").await?;
        page.settled().await?;
        taken += all(stage, page, &format!("8-closed-{ending}")).await?;
        hand.press(page, "#to-customer", None).await?;
        page.wait("the customer's page", "return !!document.querySelector('.paper')").await?;
        let paper = page.text(".paper").await?;
        must(paper.contains("Call again in May.") && !paper.contains('%'), || {
            format!("the customer's page lacks a note or shows odds: {paper}")
        })?;
        taken += all(stage, page, &format!("8-customer-{ending}")).await?;
        hand.press(page, "#back", None).await?;
        page.wait("the job", "return !!document.querySelector('#reopen')").await?;
    }
    Ok(taken)
}

/// Endings, with the words that they are chosen by.
const ENDINGS: [(&str, &str); 6] = [
    ("repaired", "Repaired and proved"),
    ("nothing-broken", "Nothing is broken"),
    ("cannot-tell", "Cannot tell with what is here"),
    ("made-safe", "Made safe and left"),
    ("stopgap", "Runs for now (stopgap)"),
    ("declined", "The customer declined"),
];

/// What the page looks like at this point of the job.
fn face(next: &Value) -> String {
    let kind = next["do"].as_str().unwrap_or_default();
    match kind {
        "test" if next["report_first"][0].is_string() => "report-proposed".to_owned(),
        "test" => next["answer"]["kind"].as_str().unwrap_or_default().to_owned(),
        _ => kind.to_owned(),
    }
}

/// Three sizes, light and dark.
pub async fn all(stage: &Stage<'_>, page: &Page, name: &str) -> Res<usize> {
    let mut taken = 0;
    // What sticks to the top of the window would lie across the middle of the picture.
    page.script("window.scrollTo(0, 0)", vec![]).await?;
    for (size, screen) in [("phone", PHONE), ("tablet", TABLET), ("desk", DESK)] {
        page.sized(screen).await?;
        for scheme in ["light", "dark"] {
            coloured(page, scheme).await?;
            let wide = page.script("return document.documentElement.scrollWidth", vec![]).await?;
            must(wide.as_u64().is_some_and(|w| w <= u64::from(screen.width)), || {
                format!("{name} is {wide} wide on a screen of {}", screen.width)
            })?;
            // What is off the screen is painted only when it comes near it, or is asked for.
            page.script(SHOW_ALL, vec![json!("visible")]).await?;
            let shot = page
                .devtools("Page.captureScreenshot", json!({ "format": "png", "captureBeyondViewport": true }))
                .await?;
            let bytes = base64::engine::general_purpose::STANDARD.decode(shot["data"].as_str().unwrap_or_default())?;
            page.script(SHOW_ALL, vec![json!("")]).await?;
            fs::write(stage.settings.artefacts.join(format!("{name}-{size}-{scheme}.png")), bytes)?;
            taken += 1;
        }
        for (selector, least) in [
            (".next button, .next > details > summary", AT_MACHINE),
            ("button, select, input:not([type=checkbox]), .tick, summary", ELSEWHERE),
        ] {
            let (side, text) = hand::smallest(page, selector).await?;
            must(side >= least - 0.5, || format!("{name} at {size}: \"{text}\" is {side:.0} px, not {least}"))?;
        }
    }
    coloured(page, "light").await?;
    page.sized(PHONE).await?;
    Ok(taken)
}

const SHOW_ALL: &str =
    "for (const e of document.querySelectorAll('.beside > .card')) e.style.contentVisibility = arguments[0];";

/// Light or dark, as the device asks for.
pub async fn coloured(page: &Page, scheme: &str) -> Res<()> {
    let features = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
    page.devtools("Emulation.setEmulatedMedia", features).await?;
    Ok(())
}
