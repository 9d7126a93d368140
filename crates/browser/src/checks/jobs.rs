//! Whole jobs: by keys, by touch, without signal, across a reload and a crash.

use super::{FULL, PROBED, SHORT, Stage, must, no_complaints};
use crate::Res;
use crate::hand::{self, Hand};
use crate::page::{DESK, PHONE, Page};
use crate::stage;
use crate::visit::Visit;

/// Keys alone.
pub async fn keys(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("keys", DESK).await?;
    hand::watch(&page).await?;
    let mut visit = Visit::open(&page, Hand::Keys, Stage::hidden(FULL)?).await?;
    let reports = visit.another(PROBED).await?;
    must(reports > 1, || format!("ohms were measured after {reports} reports of the power"))?;
    visit.finish().await?;
    closed(&page).await?;
    let pointers = hand::seen(&page).await?;
    must(pointers.is_empty(), || format!("pointers were used: {pointers:?}"))?;
    no_complaints(&page).await?;
    let entries = visit.entries;
    page.close().await?;
    Ok(format!(
        "a whole job with Tab, Enter and letters: {entries} entries, {reports} reports of the power, focus always to be seen"
    ))
}

/// A finger on a phone.
pub async fn touch(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("touch", PHONE).await?;
    hand::watch(&page).await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    let reports = visit.another(PROBED).await?;
    must(reports > 1, || format!("ohms were measured after {reports} reports of the power"))?;
    visit.finish().await?;
    closed(&page).await?;
    let pointers = hand::seen(&page).await?;
    must(pointers == ["touch"], || format!("pointers that were seen: {pointers:?}"))?;
    no_complaints(&page).await?;
    let entries = visit.entries;
    page.close().await?;
    Ok(format!(
        "a whole job by touch at {} x {}: {entries} entries, {reports} reports of the power",
        PHONE.width, PHONE.height
    ))
}

/// The server is stopped after the first load.
pub async fn offline(stage: &mut Stage<'_>) -> Res<String> {
    let page = stage.fresh("offline", PHONE).await?;
    stage.served.stop()?;
    let outcome = without_server(&page).await;
    stage.served.again()?;
    let entries = outcome?;
    page.close().await?;
    Ok(format!("server stopped after the first load, page loaded anew, job done: {entries} entries"))
}

async fn without_server(page: &Page) -> Res<usize> {
    page.reload().await?;
    let mut visit = Visit::open(page, Hand::Finger, Stage::hidden(SHORT)?).await?;
    visit.step().await?;
    page.reload().await?;
    visit.finish().await?;
    closed(page).await?;
    Ok(visit.entries)
}

/// Loaded anew after every entry.
pub async fn reload(stage: &Stage<'_>) -> Res<String> {
    let page = stage.fresh("reload", PHONE).await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(SHORT)?).await?;
    let mut reloads = 0;
    loop {
        let (journal, shown) = (page.journal().await?, page.text("main").await?);
        page.reload().await?;
        reloads += 1;
        visit.agreed().await?;
        must(page.journal().await? == journal, || "a reload changed the journal".into())?;
        let again = page.text("main").await?;
        must(again == shown, || format!("a reload changed the page from {shown:?} to {again:?}"))?;
        if !visit.step().await? {
            break;
        }
    }
    closed(&page).await?;
    no_complaints(&page).await?;
    page.close().await?;
    Ok(format!("{reloads} reloads in one job: same journal, same page"))
}

/// The browser is killed in mid-job, once between entries and once while one is under way.
pub async fn crash(stage: &Stage<'_>) -> Res<String> {
    let profile = stage::profile("crash")?;
    let page = Page::open(&stage.driver, &profile, PHONE, None).await?;
    page.goto(&stage.served.address()).await?;
    page.kept().await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(SHORT)?).await?;
    visit.step().await?;
    visit.step().await?;
    let (journal, shown) = (page.journal().await?, page.text("main").await?);
    stage::crash(&profile)?;

    let second = Page::open(&stage.driver, &profile, PHONE, None).await?;
    let listed = back(&second, stage).await?;
    must(second.journal().await? == journal, || "a crash between entries changed the journal".into())?;
    let again = second.text("main").await?;
    must(again == shown, || format!("a crash changed the page from {shown:?} to {again:?}"))?;

    let mut visit = visit.on(&second);
    let view = visit.agreed().await?;
    visit.begin(&view).await?;
    stage::crash(&profile)?;

    let third = Page::open(&stage.driver, &profile, PHONE, None).await?;
    let listed = back(&third, stage).await? || listed;
    let after = third.journal().await?;
    must(after.starts_with(&journal), || "a crash during an entry lost an earlier one".into())?;
    let mut visit = visit.on(&third);
    visit.agreed().await?;
    visit.finish().await?;
    closed(&third).await?;
    no_complaints(&third).await?;
    third.close().await?;
    let under_way = if after.len() > journal.len() { "was kept whole" } else { "did not happen" };
    let door = if listed { "from the list of what is kept" } else { "by itself" };
    Ok(format!("killed twice: nothing lost; the entry under way {under_way}; the job came back {door}"))
}

/// Back to the job after a crash: it opens by itself, or stands first in the list of what is kept (then true).
async fn back(page: &Page, stage: &Stage<'_>) -> Res<bool> {
    page.goto(&stage.served.address()).await?;
    let listed = page.shows("#open", None).await?;
    if listed {
        Hand::Finger.press(page, "button.wide", None).await?;
        page.wait("the job", "return !!document.querySelector('.next')").await?;
        page.settled().await?;
    }
    Ok(listed)
}

/// The job was repaired, and the page says so.
async fn closed(page: &Page) -> Res<()> {
    let kicker = page.text(".next .kicker").await?;
    must(kicker == "Closed by Ada Fitter", || format!("the job is not closed: {kicker}"))?;
    must(page.journal().await?.contains("\"repaired\""), || "no repair was made".into())?;
    must(page.shows("#reopen", None).await?, || "the closing cannot be taken back".into())
}
