//! The page: what `leadsman serve` answers with. One file a screen; what they share stands in `frame`.
//!
//! A function builds the [`router`], so that tests ask it without a socket. Every request passes `guard` first: its
//! Host, its pace, whether its device is paired, and for one that changes something where it comes from. No screen
//! asks the clock or the environment; [`page::Setting`] has what they need of both.

mod assets;
pub mod authority;
mod before;
mod budget;
mod correct;
mod doubts;
mod find;
mod frame;
mod gear;
mod guard;
pub mod invite;
mod item;
mod known;
mod limit;
mod log;
mod marked;
mod more;
mod note;
mod outings;
pub mod page;
mod pair;
mod paired;
mod passage;
mod polar;
mod proved;
mod sailed;
pub mod serve;
mod sound;
mod source;
mod taken;
#[cfg(test)]
mod tests;
mod trend;
mod trial;
mod trouble;
mod upload;
mod worker;

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};

use page::Page;

/// The largest form that is no upload, in bytes: a day's dictation is a tenth of it.
pub const LARGEST_FORM: usize = 2 << 20;

/// All screens and what they send, behind the checks.
pub fn router(page: Arc<Page>) -> Router {
    Router::new()
        .route("/", get(before::show))
        .route("/open", get(before::all))
        .route("/item/{name}", get(item::show))
        .route("/item/{name}/{what}", post(item::say))
        .route("/reading/{name}", get(correct::show))
        .route("/reading/{name}/{what}", post(correct::say))
        .route("/trial/{name}", get(trial::show))
        .route("/trial/{name}/{what}", post(trial::say))
        .route("/note", get(note::show).post(note::take))
        .route("/files", post(upload::take).layer(DefaultBodyLimit::disable()))
        .route("/taken", get(taken::show))
        .route("/find", get(find::show))
        .route("/trend", get(trend::list))
        .route("/trend/{quantity}", get(trend::show))
        .route("/source/{hash}", get(source::show))
        .route("/doubts", get(doubts::show))
        .route("/gear", get(gear::list))
        .route("/gear/{name}", get(gear::show))
        .route("/proved", get(proved::show))
        .route("/outings", get(outings::show))
        .route("/sailed", get(sailed::show))
        .route("/polar", get(polar::show))
        .route("/polar/minutes", get(polar::minutes))
        .route("/log/{quantity}", get(log::show))
        .route("/sound/{hash}", get(sound::give))
        .route("/worker.js", get(worker::give))
        .route("/passage", get(passage::show).post(passage::set))
        .route("/budget", get(budget::show))
        .route("/more", get(more::show))
        .route("/light", post(more::set))
        .route("/sources", get(source::list))
        .route("/pair", get(pair::show).post(pair::take))
        .route("/a/{name}", get(assets::give))
        .route("/favicon.ico", get(assets::icon))
        .fallback(trouble::nowhere)
        .method_not_allowed_fallback(trouble::not_so)
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(from_fn_with_state(page.clone(), guard::check))
        .layer(from_fn_with_state(page.clone(), trouble::dress))
        .layer(from_fn(guard::headers))
        .with_state(page)
}
