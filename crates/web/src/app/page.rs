//! The page: which of its faces is shown.

use leptos::prelude::*;
use leptos::task::spawn_local;

use crate::state::State;
use crate::{account, debrief, opening, power, sheets, work};

/// Puts the page up, with the job that was open last.
pub fn open() {
    if let Some(starting) = web_sys::window().and_then(|w| w.document()).and_then(|d| d.get_element_by_id("starting")) {
        starting.remove();
    }
    mount_to_body(|| {
        let state = State::new();
        spawn_local(look_up(state));
        page(state)
    });
}

/// What is kept here, the job that was open, and the machines to choose from.
async fn look_up(state: State) {
    spawn_local(state.find_machines());
    if let Some(job) = state.recall().await {
        state.go_on(job).await;
    }
    state.asking.update(|n| *n -= 1);
}

fn page(state: State) -> impl IntoView {
    let face = Memo::new(move |_| {
        if state.debrief.with(Option::is_some) {
            3
        } else if state.sheets.get() {
            4
        } else if state.view.with(Option::is_none) {
            0
        } else if state.customer.get() {
            2
        } else {
            1
        }
    });
    let at_work = Memo::new(move |_| face.get() == 1);
    view! {
        <a class="skip" href="#main">"To what to do next"</a>
        {move || at_work.get().then(|| power::bar(state))}
        <main id="main" aria-busy=move || state.busy().to_string()>
            <div role="alert">
                {move || state.trouble.get().map(|t| view! {
                    <section class="trouble">
                        <p><strong>{t.what}</strong>" "<span>{t.hint}</span></p>
                        <button id="put-away" on:click=move |_| state.trouble.set(None)>"Put this away"</button>
                    </section>
                })}
            </div>
            {move || state.stale.get().then(|| view! {
                <p id="stale" class="stale" role="status">"This is how it stood last. It is being worked out again; then entries are taken."</p>
            })}
            <fieldset class="all" disabled=move || state.stale.get()>
                {move || match face.get() {
                    0 => opening::start(state).into_any(),
                    2 => account::customer(state).into_any(),
                    3 => debrief::page(state).into_any(),
                    4 => sheets::page(state).into_any(),
                    _ => work::job(state).into_any(),
                }}
            </fieldset>
        </main>
        <div class="working" role="status">{move || state.busy().then_some("working it out …")}</div>
    }
}
