//! What stands around the tests: the look round, photos, units, sheets of one's own, and a device that is full.

use std::path::PathBuf;
use std::time::Duration;

use base64::Engine as _;
use fantoccini::Locator;
use serde_json::json;

use super::pictures::all;
use super::{FULL, SHORT, Stage, must, no_complaints};
use crate::Res;
use crate::hand::Hand;
use crate::page::{PHONE, Page};
use crate::visit::Visit;

/// The opening with everything filled in, photos across a reload, and the other units.
pub async fn opening(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("opening", PHONE).await?;
    let hand = Hand::Finger;
    for part in ["#look-round", "#conditions", "#tools"] {
        hand.press(&page, &format!("{part} > summary"), None).await?;
    }
    hand.press(&page, "#look-round button", Some("smells burnt")).await?;
    hand.press(&page, "#tools button", Some("gauges")).await?;
    hand.write(&page, "#condition-ambient", "12").await?;
    photo(stage, &page, ".take input", "opening").await?;
    page.wait("the photo", "return document.querySelector('.thumbs img')?.naturalWidth > 0").await?;
    all(stage, &page, "1-opening-filled").await?;
    let mut visit = Visit::open(&page, hand, Stage::hidden(SHORT)?).await?;
    visit.agreed().await?;
    let journal = page.journal().await?;
    for kept in [
        "No hot water since Sunday.",
        "smells burnt",
        "\"sha256:",
        "\"ambient\":285.15",
        "\"tools_carried\":[\"multimeter\"",
    ] {
        must(journal.contains(kept), || format!("the journal lacks {kept}"))?;
    }
    must(!journal.contains("\"gauges\""), || "tools that were left behind are carried".into())?;
    photo(stage, &page, ".photos .take:nth-child(3) input", "finding").await?;
    page.wait("both photos", "return document.querySelectorAll('.photos .photo img').length === 2").await?;
    page.reload().await?;
    page.wait("both photos after a reload", "return document.querySelectorAll('.photos .photo img').length === 2")
        .await?;
    let same = page
        .later(
            "const bytes = await (await fetch(document.querySelector('.photos img').src)).arrayBuffer(); \
             const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)); \
             return Array.from(sum, (b) => b.toString(16).padStart(2, '0')).join('')",
            vec![],
        )
        .await;
    // The page's own policy may forbid reading a picture back; then its being seen has to do.
    if let Ok(sum) = &same {
        must(journal.contains(sum.as_str().unwrap_or("?")), || {
            format!("a photo's bytes are not those of its name: {sum}")
        })?;
    }
    hand.press(&page, "#units", None).await?;
    page.settled().await?;
    hand.press(&page, "#draw-loop", None).await?;
    let words = "(document.querySelector('.drawing .words')?.textContent ?? '')";
    page.wait("the loop in °F", &format!("return {words}.includes('°F') && !{words}.includes('°C')")).await?;
    hand.press(&page, "#units", None).await?;
    page.settled().await?;
    visit.agreed().await?;
    hand.press(&page, "nav button", Some("For the customer")).await?;
    page.wait("photos in the report", "return document.querySelectorAll('.paper .photo img').length === 2").await?;
    all(stage, &page, "3-customer-photos").await?;
    let complaints = page.complaints().await?;
    must(complaints.iter().all(|c| c.contains("connect-src") || c.contains("blob:")), || complaints.join("; "))?;
    page.close().await?;
    Ok("look round, tools, air, photos by their hash across a reload and in the report, units there and back".into())
}

/// A sheet from a nameplate, broken and mended while it is edited, kept, and a job opened on it.
pub async fn sheets(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("sheets", PHONE).await?;
    let hand = Hand::Finger;
    hand.press(&page, "#sheets", None).await?;
    page.wait("the form", "return !!document.querySelector('#plate-volts')").await?;
    all(stage, &page, "5-sheets").await?;
    hand.write(&page, "#sheet-name", "Cellar heater").await?;
    hand.write(&page, "#plate-volts", "230 V").await?;
    hand.press(&page, "#make-sheet", None).await?;
    checked(&page, "It can be computed: Cellar heater").await?;
    page.wait("the drawing", "return document.querySelector('.drawing img')?.naturalWidth > 0").await?;
    all(stage, &page, "5-sheet").await?;
    // One letter too many in the first class.
    retype(&page, "class = \"", "class = \"x").await?;
    checked(&page, "This cannot be computed yet").await?;
    let said = page.text("#verdict").await?;
    must(said.contains("Wrong, line "), || format!("no line is named: {said}"))?;
    hand.press(&page, "#verdict button", None).await?;
    let selected = page
        .script(
            "const t = document.querySelector('#sheet'); return t.value.slice(t.selectionStart, t.selectionEnd)",
            vec![],
        )
        .await?;
    must(selected.as_str().is_some_and(|s| s.contains("\"x")), || format!("the line is not shown: {selected}"))?;
    all(stage, &page, "5-sheet-wrong").await?;
    retype(&page, "class = \"x", "class = \"").await?;
    checked(&page, "It can be computed").await?;
    hand.press(&page, "#keep-sheet", None).await?;
    page.settled().await?;
    page.reload().await?;
    let option =
        "[...document.querySelectorAll('#machine option')].find((o) => o.textContent.startsWith('Cellar heater'))";
    page.wait("the sheet among the machines", &format!("return !!{option}")).await?;
    page.script(
        &format!(
            "const s = document.querySelector('#machine'); s.value = {option}.value; \
             s.dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ),
        vec![],
    )
    .await?;
    hand.press(&page, "#open", None).await?;
    page.wait("the job", "return !!document.querySelector('.next')").await?;
    page.settled().await?;
    must(page.journal().await?.contains("Cellar heater"), || "the job has another sheet".into())?;
    no_complaints(&page).await?;
    page.close().await?;
    Ok("started from a nameplate, an error shown at its line, drawn, kept, a job opened on it".into())
}

/// The device has no room left: it is said, what was typed stands, and with room again the job goes on.
pub async fn full(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("full", PHONE).await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    let view = loop {
        let view = visit.agreed().await?;
        if view["next"]["answer"]["kind"] == "number" && view["next"]["report_first"][0].is_null() {
            break view;
        }
        must(visit.step().await?, || "the job never asked for a number".into())?;
    };
    let journal = page.journal().await?;
    quota(stage, &page, Some(1)).await?;
    // For half a minute the browser goes by the room that there was.
    tokio::time::sleep(Duration::from_secs(35)).await;
    visit.begin(&view).await?;
    page.wait("the trouble", "return document.querySelector('main > [role=alert]').textContent.includes('no room')")
        .await?;
    must(page.journal().await? == journal, || "something was entered".into())?;
    let typed = page.script("return document.querySelector('#reading').value", vec![]).await?;
    must(typed.as_str().is_some_and(|t| t.len() > 2), || format!("what was typed is gone: {typed}"))?;
    // Something else that succeeds leaves it standing.
    Hand::Finger.press(&page, "#draw-loop", None).await?;
    page.settled().await?;
    must(page.text("main > [role=alert]").await?.contains("no room"), || "the trouble went by itself".into())?;
    all(stage, &page, "6-full").await?;
    quota(stage, &page, None).await?;
    Hand::Finger.press(&page, "#enter", None).await?;
    page.settled().await?;
    if page.shows(".next .trouble button", Some("It is as typed")).await? {
        Hand::Finger.press(&page, ".next .trouble button", Some("It is as typed")).await?;
        page.settled().await?;
    }
    must(page.text("main > [role=alert]").await?.is_empty(), || "the trouble stays though it is mended".into())?;
    must(page.journal().await?.len() > journal.len(), || "the reading was not entered".into())?;
    visit.agreed().await?;
    page.close().await?;
    Ok("said, nothing half entered, what was typed stood and was entered when there was room".into())
}

async fn quota(stage: &Stage<'_>, page: &Page, bytes: Option<u64>) -> Res<()> {
    let mut of = json!({ "origin": stage.served.address() });
    if let Some(bytes) = bytes {
        of["quotaSize"] = json!(bytes);
    }
    page.devtools("Storage.overrideQuotaForOrigin", of).await?;
    Ok(())
}

/// Has the first `from` in the sheet's text be `to`, as if it had been typed.
async fn retype(page: &Page, from: &str, to: &str) -> Res<()> {
    page.script(
        "const t = document.querySelector('#sheet'); t.value = t.value.replace(arguments[0], arguments[1]); \
         t.dispatchEvent(new InputEvent('input', { bubbles: true }))",
        vec![json!(from), json!(to)],
    )
    .await?;
    Ok(())
}

async fn checked(page: &Page, words: &str) -> Res<()> {
    page.wait(words, &format!("return document.querySelector('#verdict')?.textContent.includes({})", json!(words)))
        .await
}

/// Gives the page a picture as if it had been taken.
async fn photo(stage: &Stage<'_>, page: &Page, input: &str, name: &str) -> Res<()> {
    let shot = page.devtools("Page.captureScreenshot", json!({ "format": "png" })).await?;
    let bytes = base64::engine::general_purpose::STANDARD.decode(shot["data"].as_str().unwrap_or_default())?;
    let file: PathBuf = stage.settings.artefacts.canonicalize()?.join(format!("taken-{name}.png"));
    std::fs::write(&file, bytes)?;
    page.client().find(Locator::Css(input)).await?.send_keys(&file.display().to_string()).await?;
    page.settled().await
}
