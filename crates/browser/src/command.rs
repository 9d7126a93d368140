//! Commands of the driver that the library has no function for.

use fantoccini::wd::WebDriverCompatibleCommand;
use http::Method;
use serde_json::Value;
use url::{ParseError, Url};

/// A command of the session, with its body.
#[derive(Debug)]
pub struct Post {
    pub path: &'static str,
    pub body: Value,
}

impl WebDriverCompatibleCommand for Post {
    fn endpoint(&self, base: &Url, session: Option<&str>) -> Result<Url, ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }

    fn method_and_body(&self, _: &Url) -> (Method, Option<String>) {
        (Method::POST, Some(self.body.to_string()))
    }
}
