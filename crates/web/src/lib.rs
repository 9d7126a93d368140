//! halfsplit on the phone, without the phone: what both programs share and what can be tested without a browser.
