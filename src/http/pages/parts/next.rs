//! What do I do now? One task, one button.

use super::{clock::Clock, fields, frame::Frame};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The task this person should do next.
#[derive(Debug, Clone)]
pub struct NextTask {
    /// What.
    pub name: String,
    /// Its id, sent by the button.
    pub task: String,
    /// The area, for tasks done per area.
    pub instance: Option<String>,
    /// When it was begun, if it was.
    pub since: Option<DateTime<Utc>>,
    /// Likely minutes.
    pub minutes: Option<u32>,
    /// What it needs first.
    pub needs: String,
    /// What comes then.
    pub then: String,
    /// What the button begins with it, if that can be begun then.
    pub starts: Option<Starts>,
    /// Where the button posts; a sheet to open where the task is closed by a sighting.
    pub how: Finish,
}

/// A task that is begun when another is done.
#[derive(Debug, Clone)]
pub struct Starts {
    /// Its id.
    pub task: String,
    /// The area, for tasks done per area.
    pub instance: Option<String>,
}

/// How a task is finished.
#[derive(Debug, Clone)]
pub enum Finish {
    /// One tap posts it.
    Tap(String),
    /// It is closed by what is seen: this sheet asks.
    Sheet {
        /// Where the sheet is.
        href: String,
        /// What the button says.
        label: String,
    },
}

/// The panel of the next task, or that there is none.
pub fn panel(frame: &Frame, task: Option<&NextTask>) -> Markup {
    let Some(task) = task else {
        return html! {
            section.panel.next data-part="next" aria-labelledby="nh" {
                p.lab { span { "Your next task" } }
                h2 #nh { "None for you now" }
                p.need { "The plan below says who does what." }
            }
        };
    };
    html! {
        section.panel.next data-part="next" aria-labelledby="nh" {
            p.lab {
                span { "Your next task" @if let Some(since) = task.since { ", since " (frame.clock.time(since)) } }
                @if let Some(minutes) = task.minutes { span { (taken(&frame.clock, task.since, minutes)) } }
            }
            h2 #nh { (task.name) }
            @if !task.needs.is_empty() { p.need { (task.needs) } }
            @match &task.how {
                Finish::Tap(action) => { (fields::post(frame, action, "", html! {
                    input type="hidden" name="task" value=(task.task);
                    @if let Some(instance) = &task.instance { input type="hidden" name="instance" value=(instance); }
                    @if let Some(starts) = &task.starts {
                        input type="hidden" name="starts" value=(starts.task);
                        @if let Some(instance) = &starts.instance { input type="hidden" name="starts_instance" value=(instance); }
                    }
                    button.btn.big.solid { "Done, next" @if !task.then.is_empty() { small { "then: " (task.then) } } }
                })) }
                Finish::Sheet { href, label } => {
                    a.btn.big.solid href=(href) { (label) @if !task.then.is_empty() { small { "then: " (task.then) } } }
                }
            }
        }
    }
}

fn taken(clock: &Clock, since: Option<DateTime<Utc>>, minutes: u32) -> String {
    match since {
        Some(since) => format!(
            "{} of {minutes} min",
            (clock.now - since).num_minutes().max(0)
        ),
        None => format!("{minutes} min"),
    }
}
