//! A whole job on the page, one step after another, each held against what native code makes of the same journal.

use std::time::{Duration, Instant};

use serde_json::Value;

use crate::Res;
use crate::hand::Hand;
use crate::page::Page;
use crate::twin::{self, Hidden, Twin};

/// A job takes no more entries than this.
const MOST: usize = 80;

/// Who answers what the page asks.
pub enum Answers {
    /// Beside the page stands a machine that is read and typed in.
    Machine(Box<Hidden>),
    /// The page practises: its own hidden machine answers.
    Practice,
}

/// A job on a page.
pub struct Visit<'a> {
    page: &'a Page,
    hand: Hand,
    answers: Answers,
    twin: Twin,
    /// The last journal with what native code made of it.
    worked_out: Option<(String, Value)>,
    /// Entries made.
    pub entries: usize,
    /// How long the page is left alone after an entry.
    rest: Duration,
}

impl<'a> Visit<'a> {
    fn new(page: &'a Page, hand: Hand, answers: Answers) -> Visit<'a> {
        Visit { page, hand, answers, twin: Twin::default(), worked_out: None, entries: 0, rest: Duration::ZERO }
    }

    /// Fills in the opening and opens the job.
    pub async fn open(page: &'a Page, hand: Hand, hidden: Hidden) -> Res<Visit<'a>> {
        Visit::open_at_leisure(page, hand, hidden, Duration::ZERO).await
    }

    /// The same with a rest before the job is opened, and after it and every entry, in which the page is left alone: looking
    /// takes no time from it then.
    pub async fn open_at_leisure(page: &'a Page, hand: Hand, mut hidden: Hidden, rest: Duration) -> Res<Visit<'a>> {
        hand.write(page, "#who", "Ada Fitter").await?;
        hand.write(page, "#words", "No hot water since Sunday.").await?;
        for (test, legend) in [("complaint", 0), ("display message", 1)] {
            let word = hidden.read(test)?;
            let of = format!("fieldset.choice:nth-of-type({}) button", legend + 1);
            hand.press(page, &of, Some(&word)).await?;
        }
        hand.write(page, "#age", "8").await?;
        let before = page.journal().await?;
        tokio::time::sleep(rest).await;
        hand.press(page, "#open", None).await?;
        let visit = Visit { rest, ..Visit::new(page, hand, Answers::Machine(Box::new(hidden))) };
        visit.came(&before).await?;
        Ok(visit)
    }

    /// Begins a practice with the first machine.
    pub async fn practice(page: &'a Page, hand: Hand) -> Res<Visit<'a>> {
        hand.press(page, "#practice", None).await?;
        let visit = Visit::new(page, hand, Answers::Practice);
        visit.came("").await?;
        Ok(visit)
    }

    /// Goes on with the job that is open on another page.
    pub fn on(self, page: &Page) -> Visit<'_> {
        Visit {
            page,
            hand: self.hand,
            answers: self.answers,
            twin: self.twin,
            worked_out: self.worked_out,
            entries: self.entries,
            rest: self.rest,
        }
    }

    /// Takes steps until the job is closed; what its journal gives from the beginning is what it gave step by step.
    pub async fn finish(&mut self) -> Res<()> {
        while self.step().await? {
            if self.entries > MOST {
                return Err("the job does not come to an end".into());
            }
        }
        let (stepwise, journal) = (self.agreed().await?, self.page.journal().await?);
        if twin::afresh(&journal)? == stepwise {
            Ok(())
        } else {
            Err("native code makes something else of the whole journal than of its lines one by one".into())
        }
    }

    /// Chooses a test by words instead of the one that is proposed: the first that is found. Gives its id.
    pub async fn choose(&mut self, words: &str) -> Res<String> {
        self.agreed().await?;
        let (id, title) = self.twin.find(words)?;
        let (page, hand) = (self.page, self.hand);
        hand.write(page, "#search", words).await?;
        page.wait("what the words find", "return !!document.querySelector('#found button')").await?;
        hand.press(page, "#found button", None).await?;
        self.stands(&title).await?;
        Ok(id)
    }

    /// Takes a reading that was not proposed, with the reports that it wants first. Gives how many those were.
    pub async fn another(&mut self, words: &str) -> Res<usize> {
        let id = self.choose(words).await?;
        self.take(&id).await
    }

    /// Takes the reading of the test that was chosen, as [`Visit::another`] does.
    pub async fn take(&mut self, id: &str) -> Res<usize> {
        let title = self.page.heading().await?;
        let mut reports = 0;
        loop {
            let test = self.twin.about(id)?;
            let Some(report) = test["report_first"][0].as_str() else {
                let before = self.page.journal().await?;
                self.answer(&test, id).await?;
                self.came(&before).await?;
                self.entries += 1;
                return Ok(reports);
            };
            self.report(report).await?;
            reports += 1;
            // What was chosen stays chosen, and native code has heard of the report too.
            self.stands(&title).await?;
            let journal = self.page.journal().await?;
            self.twin.view(&journal)?;
        }
    }

    /// Reports a power state that the test on the page wants first.
    pub async fn report(&mut self, report: &str) -> Res<()> {
        let before = self.page.journal().await?;
        let button = format!("main [id^='step-report-'][id*='{report}']");
        self.hand.press(self.page, &button, None).await?;
        self.came(&before).await
    }

    /// Waits until the page's heading is this.
    async fn stands(&self, title: &str) -> Res<()> {
        let script =
            format!("return document.querySelector('h1')?.innerText.trim() === {}", Value::from(sentence(title)));
        self.page.wait(title, &script).await?;
        self.page.settled().await
    }

    /// Takes steps until the page proposes something of this kind (`test`, `repair`, `prove`, `end`, `closed`).
    pub async fn until(&mut self, kind: &str) -> Res<Value> {
        loop {
            let view = self.agreed().await?;
            if view["next"]["do"] == kind {
                return Ok(view);
            }
            if !self.step().await? || self.entries > MOST {
                return Err(format!("the job ended without a {kind}").into());
            }
        }
    }

    /// Does what the page proposes. False when the job is closed.
    pub async fn step(&mut self) -> Res<bool> {
        let view = self.agreed().await?;
        let before = self.page.journal().await?;
        if !self.begin(&view).await? {
            return Ok(false);
        }
        self.came(&before).await?;
        self.entries += 1;
        Ok(true)
    }

    /// Begins what the page proposes and does not wait for what comes of it. False when the job is closed.
    pub async fn begin(&mut self, view: &Value) -> Res<bool> {
        let next = &view["next"];
        let (page, hand) = (self.page, self.hand);
        let id = next["id"].as_str().unwrap_or_default();
        match next["do"].as_str().unwrap_or_default() {
            "test" => {
                if let Some(report) = next["report_first"][0].as_str() {
                    let button = format!("main [id^='step-report-'][id*='{report}']");
                    hand.press(page, &button, None).await?;
                } else {
                    self.answer(next, id).await?;
                }
            }
            "repair" => {
                if let Answers::Machine(hidden) = &mut self.answers {
                    hidden.mend(id)?;
                }
                hand.press(page, "#repaired", None).await?;
            }
            "prove" => hand.press(page, "#proved", None).await?,
            "end" => hand.press(page, "#close", None).await?,
            "closed" => return Ok(false),
            other => return Err(format!("the page proposes \"{other}\"").into()),
        }
        Ok(true)
    }

    async fn answer(&mut self, next: &Value, id: &str) -> Res<()> {
        let (page, hand) = (self.page, self.hand);
        let Answers::Machine(hidden) = &mut self.answers else {
            return hand.press(page, "#let-it-answer", None).await;
        };
        let typed = hidden.read(id)?;
        if next["answer"]["kind"] == "words" {
            return hand.press(page, ".answer", Some(&typed)).await;
        }
        hand.number(page, &typed).await.map_err(|e| format!("\"{id}\" reads \"{typed}\": {e}"))?;
        tokio::time::sleep(self.rest).await;
        page.settled().await?;
        // What is wrong can be off by a power of ten, and is so.
        if page.shows(".next .trouble button", Some("It is as typed")).await? {
            hand.press(page, ".next .trouble button", Some("It is as typed")).await?;
        }
        Ok(())
    }

    /// Waits until the journal has grown and all that follows is shown.
    async fn came(&self, before: &str) -> Res<()> {
        tokio::time::sleep(self.rest).await;
        let began = Instant::now();
        while self.page.journal().await?.len() <= before.len() {
            let trouble = self.page.text("main > [role=alert]").await?;
            if !trouble.is_empty() || began.elapsed() > Duration::from_secs(60) {
                return Err(format!(
                    "an entry was not taken: {trouble}; the page shows: {}",
                    self.page.text("main").await?
                )
                .into());
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        self.page.settled().await
    }

    /// What native code makes of the journal, once the page shows the same.
    pub async fn agreed(&mut self) -> Res<Value> {
        let mut last = String::new();
        for _ in 0..40 {
            match self.compared().await {
                Ok(view) => return Ok(view),
                Err(e) => last = e.to_string(),
            }
            tokio::time::sleep(Duration::from_millis(250)).await;
        }
        Err(last.into())
    }

    async fn compared(&mut self) -> Res<Value> {
        let journal = self.page.journal().await?;
        let view = match &self.worked_out {
            Some((of, view)) if *of == journal => view.clone(),
            _ => self.twin.view(&journal)?,
        };
        self.worked_out = Some((journal, view.clone()));
        let next = &view["next"];
        let expected = match next["do"].as_str() {
            Some("test") => next["title"].clone(),
            Some("repair") => next["what"].clone(),
            Some("end") => next["words"].clone(),
            _ => Value::Null,
        };
        let shown = self.page.heading().await?;
        if let Some(expected) = expected.as_str()
            && sentence(expected) != shown
        {
            return Err(format!("the page proposes \"{shown}\", native code \"{expected}\"").into());
        }
        let suspects = view["still_possible"]["suspects"].as_array().cloned().unwrap_or_default();
        let expected: Vec<Value> = suspects.iter().take(8).map(|s| s["name"].clone()).collect();
        let shown = self
            .page
            .script("return [...document.querySelectorAll('.suspects .name')].map((e) => e.textContent)", vec![])
            .await?;
        if shown != Value::Array(expected.clone()) {
            return Err(format!("the page suspects {shown}, native code {expected:?}").into());
        }
        Ok(view)
    }
}

/// As a heading begins: with a capital.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
