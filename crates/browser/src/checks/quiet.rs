//! A practice to its debrief, and every request that the browser made on the way.

use serde_json::Value;

use super::pictures::all;
use super::{Stage, must, no_complaints};
use crate::Res;
use crate::hand::Hand;
use crate::page::{PHONE, Page};
use crate::stage;
use crate::visit::Visit;

/// A practice job; no request leaves for another host.
pub async fn practice(stage: &Stage<'_>) -> Res<String> {
    let log = stage.settings.artefacts.canonicalize()?.join("requests.json");
    let page = Page::open(&stage.driver, &stage::profile("practice")?, PHONE, Some(&log)).await?;
    page.goto(&stage.served.address()).await?;
    page.kept().await?;
    let mut visit = Visit::practice(&page, Hand::Finger).await?;
    all(stage, &page, "7-practice").await?;
    visit.step().await?;
    // What is hidden is still hidden after a reload.
    page.reload().await?;
    must(page.shows("#let-it-answer", None).await? || page.shows(".lead", None).await?, || {
        "after a reload the hidden machine does not answer".into()
    })?;
    let view = visit.until("end").await?;
    visit.begin(&view).await?;
    page.wait("the debrief", "return document.querySelector('h1')?.textContent.startsWith('Hidden was: ')").await?;
    let visits = page.script("return [...document.querySelectorAll('h2')].map((e) => e.textContent)", vec![]).await?;
    let both = visits.as_array().is_some_and(|v| {
        let begins = |i: usize, with: &str| v.get(i).and_then(Value::as_str).is_some_and(|t| t.starts_with(with));
        begins(0, "Your visit: ") && begins(1, "The program's visit: ")
    });
    must(both, || format!("the debrief shows {visits}"))?;
    let steps = page.script("return document.querySelector('.card ol').children.length", vec![]).await?;
    must(steps.as_u64().is_some_and(|n| n > 0), || "the debrief lists no steps".into())?;
    all(stage, &page, "7-debrief").await?;
    Hand::Finger.press(&page, "#leave", None).await?;
    page.wait("the opening page", "return !!document.querySelector('#practice')").await?;
    no_complaints(&page).await?;
    page.close().await?;
    let (own, others) = requests(&std::fs::read_to_string(&log)?, &stage.served.address())?;
    must(own > 5, || format!("the browser noted only {own} requests: the log is not what it was taken for"))?;
    must(others.is_empty(), || format!("requests to other hosts: {}", others.join(" ")))?;
    Ok(format!("to its debrief, {steps} steps; console silent; {own} requests, none to another host"))
}

/// Requests in the browser's log of its network: how many went to `home`, and which went elsewhere. What the browser
/// asks for on its own behalf (no page made it) is none of the app's.
fn requests(log: &str, home: &str) -> Res<(usize, Vec<String>)> {
    let log: Value = serde_json::from_str(log)?;
    let (mut own, mut others) = (0, Vec::new());
    for event in log["events"].as_array().into_iter().flatten() {
        let Some(url) = event["params"]["url"].as_str() else { continue };
        let Some(initiator) = event["params"]["initiator"].as_str() else { continue };
        if url.starts_with(home) {
            own += 1;
        } else if initiator.starts_with("http") {
            others.push(url.to_owned());
        }
    }
    Ok((own, others))
}
