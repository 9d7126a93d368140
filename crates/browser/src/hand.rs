//! The technician's hand: keys alone, or a finger.

use std::time::Duration;

use fantoccini::actions::{InputSource, KeyAction, KeyActions, PointerAction, TouchActions};
use fantoccini::key::Key;
use serde_json::json;

use crate::Res;
use crate::page::Page;

/// More presses of Tab than any page needs for a round.
const ROUND: usize = 250;

/// How the page is worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// Tab, Enter and letters.
    Keys,
    /// Touches where the thing is seen.
    Finger,
}

impl Hand {
    /// Presses what matches.
    pub async fn press(self, page: &Page, selector: &str, text: Option<&str>) -> Res<()> {
        page.aim(selector, text).await?;
        match self {
            Hand::Keys => {
                tab_there(page, selector).await?;
                key(page, Key::Enter.into()).await
            }
            Hand::Finger => touch(page, selector).await,
        }
    }

    /// Writes into a field, and sees that it stands there.
    pub async fn write(self, page: &Page, selector: &str, text: &str) -> Res<()> {
        // After an emulated touch from one field to the next Chromium swallows the focus or letters now and then, on any
        // page.
        for _ in 0..3 {
            page.aim(selector, None).await?;
            match self {
                Hand::Keys => tab_there(page, selector).await?,
                Hand::Finger => touch(page, selector).await?,
            }
            // Letters go where the focus is: without it they would be written into another field.
            if !focused(page).await? {
                continue;
            }
            for letter in text.chars() {
                key(page, letter).await?;
            }
            if page.script("return window.halfsplitAim.value.endsWith(arguments[0])", vec![json!(text)]).await? == true
            {
                return Ok(());
            }
        }
        Err(format!("\"{text}\" cannot be written into {selector}").into())
    }

    /// Enters a number with its unit: typed, or on the page's own pad.
    pub async fn number(self, page: &Page, typed: &str) -> Res<()> {
        match self {
            Hand::Keys => {
                self.write(page, "#reading", typed).await?;
                key(page, Key::Enter.into()).await
            }
            Hand::Finger => {
                for piece in pieces(typed) {
                    self.press(page, ".pad button", Some(&piece)).await?;
                }
                self.press(page, "#enter", None).await
            }
        }
    }
}

/// Whether what was aimed at gets the focus, within a second.
async fn focused(page: &Page) -> Res<bool> {
    for _ in 0..20 {
        if page.script("return document.activeElement === window.halfsplitAim", vec![]).await? == true {
            return Ok(true);
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    Ok(false)
}

/// The pad's buttons for a reading, in order: digits one by one, then the unit as a whole.
fn pieces(typed: &str) -> Vec<String> {
    if typed == "OL" {
        return vec!["OL".to_owned()];
    }
    let split = typed.find(|c: char| !(c.is_ascii_digit() || ".-<> ".contains(c))).unwrap_or(typed.len());
    let (number, unit) = typed.split_at(split);
    // A meter of the trade shows no millionths: what has no key of its own is read in the next unit that has one.
    let (number, unit) = match (unit, number.trim().parse::<f64>()) {
        ("µV", Ok(n)) => (format!("{}", n / 1000.0), "mV"),
        ("µA", Ok(n)) => (format!("{}", n / 1000.0), "mA"),
        ("mΩ", Ok(n)) => (format!("{}", n / 1000.0), "Ω"),
        ("mW", Ok(n)) => (format!("{}", n / 1000.0), "W"),
        _ => (number.to_owned(), unit),
    };
    let mut pieces: Vec<String> = number.chars().filter(|c| *c != ' ').map(String::from).collect();
    if !unit.is_empty() {
        pieces.push(unit.to_owned());
    }
    pieces
}

/// Goes to what was aimed at with Tab alone, and sees that the focus can be seen there.
async fn tab_there(page: &Page, what: &str) -> Res<()> {
    for _ in 0..ROUND {
        if page.script("return document.activeElement === window.halfsplitAim", vec![]).await? == true {
            let seen = page
                .script(
                    "const s = getComputedStyle(document.activeElement); \
                     return document.activeElement.matches(':focus-visible') && s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2",
                    vec![],
                )
                .await?;
            return if seen == true { Ok(()) } else { Err(format!("the focus cannot be seen on {what}").into()) };
        }
        key(page, Key::Tab.into()).await?;
    }
    Err(format!("{what} cannot be reached with Tab").into())
}

/// A key down and up.
pub async fn key(page: &Page, value: char) -> Res<()> {
    let keys = KeyActions::new("keys".into()).then(KeyAction::Down { value }).then(KeyAction::Up { value });
    Ok(page.client().perform_actions(keys).await?)
}

/// Brings it into view and touches its middle, where nothing may lie over it.
async fn touch(page: &Page, what: &str) -> Res<()> {
    // What was scrolled is where a finger finds it once that has been painted. The browser itself scrolls too, a while
    // after a field got the focus; so what is looked for has to stand still for some frames.
    let at = page
        .later(
            "const e = window.halfsplitAim, frame = () => new Promise((on) => requestAnimationFrame(on));
             let at = null;
             for (let tries = 0; tries < 30; tries += 1) {
                 e.scrollIntoView({ block: 'center', inline: 'center', behavior: 'instant' });
                 const was = e.getBoundingClientRect().y;
                 for (let i = 0; i < 4; i += 1) await frame();
                 const r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
                 const top = document.elementFromPoint(x, y);
                 at = { x, y, free: !!top && (top === e || e.contains(top) || top.contains(e)), over: top?.outerHTML?.slice(0, 80) ?? 'nothing' };
                 if (at.free && r.y === was) break;
             }
             return at;",
            vec![],
        )
        .await?;
    if at["free"] != true {
        return Err(format!("{what} cannot be touched: over it lies {}", at["over"]).into());
    }
    let (x, y) = (at["x"].as_f64().unwrap_or(0.0).round(), at["y"].as_f64().unwrap_or(0.0).round());
    let finger = TouchActions::new("finger".into())
        .then(PointerAction::MoveTo { duration: Some(Duration::ZERO), x, y })
        .then(PointerAction::Down { button: 0 })
        .then(PointerAction::Up { button: 0 });
    Ok(page.client().perform_actions(finger).await?)
}

/// Notes what the page is worked with from now on.
pub async fn watch(page: &Page) -> Res<()> {
    page.script(
        "window.halfsplitSeen = []; \
         document.addEventListener('pointerdown', (e) => window.halfsplitSeen.push(e.pointerType), true);",
        vec![],
    )
    .await?;
    Ok(())
}

/// Kinds of pointers that have been seen since.
pub async fn seen(page: &Page) -> Res<Vec<String>> {
    let kinds = page.script("return [...new Set(window.halfsplitSeen ?? [])]", vec![]).await?;
    let kinds = kinds.as_array().cloned().unwrap_or_default();
    Ok(kinds.iter().map(|k| k.as_str().unwrap_or_default().to_owned()).collect())
}

/// Smallest side, in CSS pixels, of what can be pressed on the page, with its text.
pub async fn smallest(page: &Page, selector: &str) -> Res<(f64, String)> {
    let said = page
        .script(
            "const all = [...document.querySelectorAll(arguments[0])].filter((e) => e.checkVisibility())
                 .map((e) => { const r = e.getBoundingClientRect(); return [Math.min(r.width, r.height), e.textContent.trim()]; });
             all.sort((a, b) => a[0] - b[0]); return all[0] ?? [1e9, ''];",
            vec![json!(selector)],
        )
        .await?;
    Ok((said[0].as_f64().unwrap_or(0.0), said[1].as_str().unwrap_or_default().to_owned()))
}
