//! What every page has around it: head, tag, name, banners, tabs, emergency.

use super::{
    banner::{self, Banner},
    clock::{Clock, iso},
    fields, signs,
};
use crate::http::assets;
use crate::pit::ids::LineId;
use chrono::{DateTime, Utc};
use maud::{DOCTYPE, Markup, html};
use std::cell::Cell;

/// What a page needs to be made at all.
#[derive(Debug)]
pub struct Frame {
    /// The moment, in the hall.
    pub clock: Clock,
    /// The address of the event, such as `/e/<id>`; empty before joining.
    pub base: String,
    /// The name this phone writes under.
    pub me: Option<Me>,
    /// Where changes are announced, with the last line this page has seen.
    pub stream: Option<Stream>,
    /// The robot and bench, or what else the page is about, told to the marshals by one tap.
    pub emergency: Emergency,
    /// What everybody has to know, most urgent first.
    pub banners: Vec<Banner>,
    /// The pages of this role.
    pub tabs: Vec<Tab>,
    /// Ids for the lines of this page's forms.
    pub keys: Keys,
}

impl Frame {
    /// The frame of a page for somebody who is at no event; ids of its forms grow from `seed`.
    pub fn outside(now: DateTime<Utc>, seed: LineId) -> Self {
        Self {
            clock: Clock {
                now,
                zone: chrono_tz::UTC,
            },
            base: String::new(),
            me: None,
            stream: None,
            emergency: Emergency::default(),
            banners: Vec::new(),
            tabs: Vec::new(),
            keys: Keys::new(seed),
        }
    }
}

/// The person a phone writes for.
#[derive(Debug, Clone)]
pub struct Me {
    /// Id of the person.
    pub id: String,
    /// Their name.
    pub name: String,
}

/// The live stream of an event.
#[derive(Debug, Clone)]
pub struct Stream {
    /// Its address.
    pub url: String,
    /// The last line folded into this page.
    pub seq: i64,
}

/// A tab of the dock.
#[derive(Debug, Clone)]
pub struct Tab {
    /// Its word.
    pub label: &'static str,
    /// Where it leads.
    pub href: String,
    /// It is this page.
    pub current: bool,
}

/// What the emergency panel says and does.
#[derive(Debug, Clone, Default)]
pub struct Emergency {
    /// Where its button posts; none before joining.
    pub action: Option<String>,
    /// Which robot, which bench, from whom.
    pub about: String,
    /// The event's own words: numbers and places.
    pub text: Vec<String>,
    /// Somebody answered.
    pub answer: Option<String>,
}

/// Hands out ids for forms: one seed a page, room for 64 lines a form.
#[derive(Debug)]
pub struct Keys {
    seed: LineId,
    given: Cell<u16>,
}

impl Keys {
    /// Ids that grow from `seed`, which is new for every page.
    pub fn new(seed: LineId) -> Self {
        Self {
            seed,
            given: Cell::new(0),
        }
    }

    /// The key of the page's next form.
    pub fn give(&self) -> LineId {
        let n = self.given.get();
        self.given.set(n.wrapping_add(64));
        self.seed.nth(n)
    }
}

/// The tag at the top: what the page is about.
#[derive(Debug, Clone)]
pub struct Tag {
    /// Robot, team or page.
    pub name: String,
    /// A line below.
    pub sub: String,
    /// Number of the bench; the mark stands in its place where there is none.
    pub bench: Option<i32>,
    /// Where it leads.
    pub href: Option<String>,
}

/// The address in the API of the event whose pages stand under `base`.
pub fn api_of(base: &str) -> String {
    base.replacen("/e/", "/api/v1/events/", 1)
}

/// A page around `main`, for phones, with the tabs below.
pub fn phone(frame: &Frame, title: &str, tag: &Tag, main: Markup) -> Markup {
    document(
        frame,
        title,
        "phone",
        html! {
            (top(frame, tag))
            (banner::stack(frame, &frame.banners))
            main.wrap #main data-part="main" { (main) (caution()) }
            footer.dock {
                @if frame.tabs.is_empty() { span.fill {} } @else { nav aria-label="Pages" {
                    @for tab in &frame.tabs {
                        a href=(tab.href) aria-current=[tab.current.then_some("page")] { (tab.label) }
                    }
                } }
                (emergency_button())
            }
        },
    )
}

/// A sheet over a page: its own form with its own foot, closed by going back.
pub fn sheet(frame: &Frame, title: &str, tag: &Tag, back: &str, content: Markup) -> Markup {
    document(
        frame,
        title,
        "phone",
        html! {
            header.top { (tag_box(tag)) a.me href=(back) { b { "Close" } } }
            (banner::stack(frame, &frame.banners))
            (content)
        },
    )
}

/// A page that uses the whole of a laptop.
pub fn desk(frame: &Frame, title: &str, bar: Markup, main: Markup) -> Markup {
    document(
        frame,
        title,
        "desk",
        html! {
            header.deskbar {
                div.tag { span.hole {} div.tn { h1 { (title) } } span.bn.mk { svg aria-hidden="true" { use href="#s-mark" {} } } }
                (bar)
                @if let Some(me) = &frame.me { a.me href=(format!("{}/me", frame.base)) { span { small { "You are" } b { " " (me.name) } } } }
                (emergency_button())
            }
            (banner::stack(frame, &frame.banners))
            main #main.deskmain data-part="main" { (main) }
            @if !frame.tabs.is_empty() { nav.desktabs aria-label="Pages" {
                @for tab in &frame.tabs { a.btn.soft href=(tab.href) aria-current=[tab.current.then_some("page")] { (tab.label) } }
            } }
        },
    )
}

/// The whole document.
pub fn document(frame: &Frame, title: &str, class: &str, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                title { (title) " · linkout" }
                meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover";
                meta name="color-scheme" content="light dark";
                link rel="icon" href=(assets::url("icon.svg")) type="image/svg+xml";
                link rel="manifest" href="/app.webmanifest";
                @for sheet in ["linkout.css", "screens.css", "print.css"] { link rel="stylesheet" href=(assets::url(sheet)); }
                script type="module" src=(assets::url("js/linkout.js")) {}
            }
            body.(class) data-base=(frame.base) data-now=(iso(frame.clock.now))
                data-me=[frame.me.as_ref().map(|me| &me.id)]
                data-stream=[frame.stream.as_ref().map(|s| &s.url)]
                data-seq=[frame.stream.as_ref().map(|s| s.seq)] {
                (signs::sprite())
                a.skip href="#main" { "To the content" }
                div #link-state.linkstate role="status" hidden {}
                section #outbox.outbox aria-label="Not sent yet" hidden {}
                (body)
                (emergency(frame))
            }
        }
    }
}

fn top(frame: &Frame, tag: &Tag) -> Markup {
    html! {
        header.top {
            (tag_box(tag))
            @if let Some(me) = &frame.me {
                a.me href=(format!("{}/me", frame.base)) { span { small { "You are" } b { " " (me.name) } } }
            }
        }
    }
}

fn tag_box(tag: &Tag) -> Markup {
    let inside = html! {
        span.hole {}
        div.tn { h1 { (tag.name) } @if !tag.sub.is_empty() { span.sub { (tag.sub) } } }
        @match tag.bench {
            Some(bench) => { span.bn { small { "bench" } " " (bench) } }
            None => { span.bn.mk { svg aria-hidden="true" { use href="#s-mark" {} } } }
        }
    };
    match &tag.href {
        Some(href) => html! { a.tag href=(href) { (inside) } },
        None => html! { div.tag { (inside) } },
    }
}

/// The button that is in the same corner of every page.
pub fn emergency_button() -> Markup {
    html! { a.emergency href="#emergency" { "Emergency" } }
}

/// Opens by its address alone: no script and no network is needed to read it.
fn emergency(frame: &Frame) -> Markup {
    let about = &frame.emergency;
    html! {
        section.emg #emergency role="dialog" aria-labelledby="emgh" tabindex="-1" {
            h2 #emgh { "Shout. Get away." }
            @if let Some(action) = &about.action {
                (fields::post(frame, action, "", html! {
                    input type="hidden" name="what" value="help";
                    button.btn.big { span { "Tell the marshals" small { (about.about) } } }
                }))
            }
            @if !about.text.is_empty() { ul { @for line in &about.text { li { (line) } } } }
            p data-part="emergency-answer" {
                @match &about.answer {
                    Some(answer) => { (answer) }
                    None => { "Nobody is said to be coming until somebody answers here." }
                }
            }
            a.btn href="#main" { "Close" }
        }
    }
}

/// Stands below everything that touches energy.
pub fn caution() -> Markup {
    html! {
        p.caution { (signs::Sign::Must.beside_word()) span {
            "linkout remembers and advises. It does not isolate anything. The event’s rules, the marshal, local law and licensed people come first."
        } }
    }
}
