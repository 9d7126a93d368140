//! The server as clients meet it: over real sockets, on ports that the system chose.
#![allow(missing_docs)]

mod api;
mod client;
mod files;
mod tls;
