//! What a computation is handed and what it hands back, in SI.

use std::collections::BTreeMap;

use crate::refusal::{Refusal, contradiction};

/// One input, read and converted.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Item {
    Number(f64),
    Numbers(Vec<f64>),
    Word(String),
}

/// The inputs of one computation, by name.
#[derive(Debug, Clone, Default)]
pub struct Known {
    items: BTreeMap<&'static str, Item>,
}

impl Known {
    pub(crate) fn put(&mut self, name: &'static str, item: Item) {
        self.items.insert(name, item);
    }

    /// The same with one number moved.
    pub(crate) fn moved(&self, name: &'static str, by: f64) -> Self {
        let mut moved = self.clone();
        if let Some(Item::Number(number)) = moved.items.get_mut(name) {
            *number += by;
        }
        moved
    }

    /// A number in SI that must be there.
    pub(crate) fn number(&self, name: &'static str) -> Result<f64, Refusal> {
        self.maybe(name).ok_or_else(|| contradiction(format!("{name} is needed here and was not given; give it")))
    }

    /// A number in SI, if given.
    pub(crate) fn maybe(&self, name: &'static str) -> Option<f64> {
        match self.items.get(name) {
            Some(Item::Number(number)) => Some(*number),
            _ => None,
        }
    }

    /// A list in SI; empty if not given.
    pub(crate) fn numbers(&self, name: &'static str) -> &[f64] {
        match self.items.get(name) {
            Some(Item::Numbers(numbers)) => numbers,
            _ => &[],
        }
    }

    /// A word; empty if not given.
    pub(crate) fn word(&self, name: &'static str) -> &str {
        match self.items.get(name) {
            Some(Item::Word(word)) => word,
            _ => "",
        }
    }
}

/// One result in SI.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Answer {
    Number(f64),
    Word(String),
}

/// The results of one computation, by name, with remarks.
#[derive(Debug, Clone, Default)]
pub struct Found {
    pub(crate) results: BTreeMap<&'static str, Answer>,
    pub(crate) remarks: Vec<String>,
}

impl Found {
    /// A first number.
    pub(crate) fn number(name: &'static str, si: f64) -> Self {
        Self::default().and(name, si)
    }

    /// One more number.
    pub(crate) fn and(mut self, name: &'static str, si: f64) -> Self {
        self.results.insert(name, Answer::Number(si));
        self
    }

    /// One more number, if there is one.
    pub(crate) fn and_maybe(self, name: &'static str, si: Option<f64>) -> Self {
        match si {
            Some(si) => self.and(name, si),
            None => self,
        }
    }

    /// One more word.
    pub(crate) fn and_word(mut self, name: &'static str, word: impl Into<String>) -> Self {
        self.results.insert(name, Answer::Word(word.into()));
        self
    }

    /// A remark for the reader.
    pub(crate) fn remark(mut self, text: impl Into<String>) -> Self {
        self.remarks.push(text.into());
        self
    }
}
