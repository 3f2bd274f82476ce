//! Banners: two at most, the rest counted.

use super::{fields, frame::Frame, signs::Sign};
use maud::{Markup, html};

/// How loud a banner is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loudness {
    /// Somebody is about to be hurt: everything stops.
    StopNow,
    /// Nobody goes on until it is cleared.
    Hold,
    /// Something must be done, such as answering a call.
    Must,
    /// To know.
    Note,
}

/// A banner.
#[derive(Debug, Clone)]
pub struct Banner {
    /// How loud.
    pub loudness: Loudness,
    /// What to do.
    pub title: String,
    /// Why.
    pub text: String,
    /// Where it leads.
    pub href: String,
    /// Buttons below, such as "I am going".
    pub actions: Vec<Action>,
    /// It is about the robot of this page, so it stands on its verdict as one sign.
    pub joins_verdict: bool,
}

/// A button of a banner: posts `value` as `name`.
#[derive(Debug, Clone)]
pub struct Action {
    /// Its word.
    pub label: String,
    /// Where it posts.
    pub action: String,
    /// Hidden fields.
    pub fields: Vec<(&'static str, String)>,
}

/// The banners above a page.
pub fn stack(frame: &Frame, banners: &[Banner]) -> Markup {
    let loud = banners.iter().any(|b| b.loudness == Loudness::StopNow);
    let rest = banners.len().saturating_sub(2);
    let joined = banners
        .iter()
        .take(2)
        .any(|b| b.joins_verdict && matches!(b.loudness, Loudness::StopNow | Loudness::Hold));
    // The one that joins the verdict stands nearest to it.
    let mut shown: Vec<&Banner> = banners.iter().take(2).collect();
    shown.sort_by_key(|banner| banner.joins_verdict);
    html! {
        section.banners.join[joined] data-part="banners" data-loud[loud] role=[loud.then_some("alert")] aria-label="Banners" hidden[banners.is_empty()] {
            @if rest > 0 { p.more { (rest) " more" @if rest == 1 { " banner" } @else { " banners" } " below these" } }
            @for banner in shown { (one(frame, banner)) }
        }
    }
}

fn one(frame: &Frame, banner: &Banner) -> Markup {
    let (class, sign) = match banner.loudness {
        Loudness::StopNow => ("stop", Some("#s-liveinv")),
        Loudness::Hold => ("hold", None),
        Loudness::Must => ("must", Some("#s-must")),
        Loudness::Note => ("note", None),
    };
    html! {
        a.banner.(class) href=(banner.href) {
            @if let Some(symbol) = sign { svg.sign aria-hidden="true" { use href=(symbol) {} } }
            div { b { (banner.title) } @if !banner.text.is_empty() { span { (banner.text) } } }
        }
        @if !banner.actions.is_empty() { div.stopact.(class) {
            @for action in &banner.actions {
                (fields::post(frame, &action.action, "", html! {
                    @for (name, value) in &action.fields { input type="hidden" name=(name) value=(value); }
                    button.btn { (action.label) }
                }))
            }
        } }
    }
}

/// The sign a banner's loudness stands for in lists.
pub fn sign(loudness: Loudness) -> Sign {
    match loudness {
        Loudness::StopNow => Sign::Live,
        Loudness::Hold => Sign::Unproved,
        Loudness::Must | Loudness::Note => Sign::Must,
    }
}
