//! Accessibility by the rules of axe-core (Deque Systems, MPL-2.0): nothing serious or critical.

use std::fs;

use serde_json::Value;

use super::pictures::coloured;
use super::{FULL, PROBED, Stage, must};
use crate::Res;
use crate::hand::Hand;
use crate::page::{PHONE, Page};
use crate::visit::Visit;

pub async fn access(stage: &Stage<'_>) -> Res<String> {
    let file = &stage.settings.axe;
    let rules = fs::read_to_string(file).map_err(|e| format!("cannot read axe-core at {}: {e}", file.display()))?;
    let page = stage.fresh("access", PHONE).await?;
    page.script(&rules, vec![]).await?;
    let mut found = Found::default();
    found.audit(&page, "opening").await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    let id = visit.choose(PROBED).await?;
    must(page.shows("#step-report-isolated", None).await?, || "ohms are not preceded by reports of the power".into())?;
    found.audit(&page, "reports of the power").await?;
    visit.take(&id).await?;
    let mut audited = Vec::new();
    loop {
        let next = visit.agreed().await?["next"].clone();
        let face = format!("{} {} {}", next["do"], next["answer"]["kind"], next["report_first"]);
        if !audited.contains(&face) {
            found.audit(&page, &face).await?;
            audited.push(face);
        }
        if !visit.step().await? {
            break;
        }
    }
    Hand::Finger.press(&page, "nav button", Some("For the customer")).await?;
    page.wait("the customer's page", "return !!document.querySelector('.paper')").await?;
    found.audit(&page, "customer").await?;
    page.close().await?;
    must(found.grave.is_empty(), || found.grave.join("\n       "))?;
    must(found.passes > 50, || format!("axe-core passed only {} rules: it saw too little", found.passes))?;
    Ok(format!(
        "{} faces in light and dark: nothing serious or critical, {} lesser ({})",
        audited.len() + 3,
        found.lesser.len(),
        if found.lesser.is_empty() { "none".to_owned() } else { found.lesser.join(", ") }
    ))
}

#[derive(Default)]
struct Found {
    grave: Vec<String>,
    lesser: Vec<String>,
    passes: usize,
}

impl Found {
    async fn audit(&mut self, page: &Page, face: &str) -> Res<()> {
        for scheme in ["light", "dark"] {
            coloured(page, scheme).await?;
            self.ids(page, face).await?;
            let said = page
                .later(
                    "const r = await axe.run(document, { resultTypes: ['violations'] }); \
                     return { passes: r.passes.length, violations: r.violations.map((v) => ({ id: v.id, impact: v.impact, help: v.help, \
                     at: v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + ' ' + (n.any[0]?.message ?? '')) })) };",
                    vec![],
                )
                .await?;
            self.passes += usize::try_from(said["passes"].as_u64().unwrap_or(0))?;
            for v in said["violations"].as_array().into_iter().flatten() {
                self.take(v, &format!("{face} in {scheme}"));
            }
        }
        coloured(page, "light").await
    }

    /// An id that stands twice names nothing (HTML, "the id attribute", from memory); axe-core looks at some of them only.
    async fn ids(&mut self, page: &Page, face: &str) -> Res<()> {
        let twice = page
            .script(
                "const all = [...document.querySelectorAll('[id]')].map((e) => e.id); \
                 return all.filter((id, i) => all.indexOf(id) !== i)",
                vec![],
            )
            .await?;
        if twice.as_array().is_some_and(|t| !t.is_empty()) {
            self.grave.push(format!("{face}: ids that stand twice: {twice}"));
        }
        Ok(())
    }

    fn take(&mut self, violation: &Value, face: &str) {
        let id = violation["id"].as_str().unwrap_or_default().to_owned();
        match violation["impact"].as_str() {
            Some("serious" | "critical") => {
                self.grave.push(format!("{face}: {id}, {}: {}", violation["help"], violation["at"]));
            }
            _ if !self.lesser.contains(&id) => self.lesser.push(id),
            _ => {}
        }
    }
}
