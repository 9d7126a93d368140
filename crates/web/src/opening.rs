//! What the page does not know of an opening: the sheet, the engine, the seed; and conditions as they were typed, in SI.

use halfsplit_workshop::journal::sheet_hash;
use halfsplit_workshop::units::{Dimension, Entry, parse_entry};
use halfsplit_workshop::{ENGINE_VERSION, JobError};
use serde_json::{Value, json};

use crate::desk::{Hand, trouble};
use crate::sheets;

/// An event, ready to be written down. Of an opening the page gives `machine` (or `sheet_text`), `typed` (conditions as
/// typed) and `with`; every other event is complete.
pub fn completed(mut event: Value, hand: &Hand) -> Result<Value, JobError> {
    if event["kind"] != "opened" {
        return Ok(event);
    }
    let text = match event["sheet_text"].as_str() {
        Some(own) => own.to_owned(),
        None => sheets::example(event["machine"].as_str().unwrap_or("demo"))?.to_owned(),
    };
    let typed = event["typed"].take();
    let with = &mut event["with"];
    for (key, typed) in typed.as_object().into_iter().flatten() {
        if let Some(typed) = typed.as_str().filter(|t| !t.trim().is_empty()) {
            with["conditions"][key] = json!(kelvin(typed, hand)?);
        }
    }
    with["units"] = json!(hand.units());
    with["sheet_hash"] = json!(sheet_hash(&text));
    with["sheet_text"] = json!(text);
    with["engine_version"] = json!(ENGINE_VERSION);
    with["seed"] = json!(hand.chance);
    Ok(event)
}

/// A temperature as typed, K; a bare number is meant in the units of the device.
fn kelvin(typed: &str, hand: &Hand) -> Result<f64, JobError> {
    let typed = typed.trim();
    let bare = typed.replace(',', ".").parse::<f64>().is_ok();
    let unit = if !bare {
        ""
    } else if hand.units == "us" {
        " °F"
    } else {
        " °C"
    };
    match parse_entry(&format!("{typed}{unit}"), Some(Dimension::Temperature)) {
        Ok(Entry::Value(q)) => Ok(q.si),
        Ok(_) => Err(trouble(format!("\"{typed}\" is no temperature"), "type it like 20 °C or 68 °F")),
        Err(e) => Err(trouble(e.to_string(), "type it like 20 °C or 68 °F")),
    }
}
