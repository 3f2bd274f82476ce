//! Coming in: sign in with a password, join with the code of a card, and say who you are.

pub mod routes;

use crate::http::pages::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// The page for organisers and leads, who have a password.
#[derive(Debug, Default)]
pub struct SignIn {
    /// What came back.
    pub typed: Typed,
    /// Where to go afterwards.
    pub next: String,
}

/// The page that takes a code.
#[derive(Debug, Default)]
pub struct Join {
    /// The code from the QR, or as typed.
    pub code: String,
    /// What came back.
    pub typed: Typed,
    /// The page was not loaded over a secure connection.
    pub plain_http: bool,
}

/// The page that asks who is holding the phone.
#[derive(Debug)]
pub struct Names {
    /// The team or role the code stands for.
    pub of: String,
    /// People, last used first.
    pub people: Vec<Person>,
    /// The person who was chosen, and whose PIN is asked for.
    pub asked: Option<Asked>,
    /// The PIN of the person of this phone, to set.
    pub own: Option<OwnPin>,
    /// People whose forgotten PIN the reader may take away.
    pub forgetful: Vec<Chip>,
    /// What came back.
    pub typed: Typed,
}

/// Somebody whose PIN is asked for: id in the form `person`, or the name as typed.
#[derive(Debug, Clone)]
pub struct Asked {
    /// `person` or `name`.
    pub field: &'static str,
    /// What it holds.
    pub value: String,
    /// What they are called.
    pub name: String,
}

/// The PIN of the person of this phone.
#[derive(Debug, Clone)]
pub struct OwnPin {
    /// What they are called.
    pub name: String,
    /// There is one already.
    pub is_set: bool,
}

/// Somebody to choose.
#[derive(Debug, Clone)]
pub struct Person {
    /// Their id.
    pub id: String,
    /// Their name.
    pub name: String,
    /// What they do.
    pub does: String,
    /// When they last used this phone, or their own.
    pub used: String,
    /// They were the last on this phone.
    pub last: bool,
}

fn brand(line: &str) -> Markup {
    html! {
        header.joinhead { h1.brandbig { svg aria-hidden="true" { use href="#s-mark" {} } " linkout" } p { (line) } }
    }
}

fn outside(frame: &Frame, title: &str, main: Markup) -> Markup {
    frame::document(
        frame,
        title,
        "phone",
        html! {
            main.wrap #main { (main) (frame::caution()) }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// Sign in.
pub fn sign_in(frame: &Frame, view: &SignIn) -> Markup {
    outside(
        frame,
        "Sign in",
        html! {
            (brand("For organisers and team leads"))
            (fields::post_now(frame, "/sign-in", "panel stackform", html! {
                (view.typed.summary())
                input type="hidden" name="next" value=(view.next);
                (Text { required: true, autocomplete: "username", ..Text::new("name", "Account name") }.show(&view.typed))
                (Text { required: true, kind: "password", autocomplete: "current-password", ..Text::new("password", "Password") }.show(&view.typed))
                button.btn.big.solid { "Sign in" }
            }))
            a.btn.soft href="/join" { "Join with a code instead" }
        },
    )
}

/// Join.
pub fn join(frame: &Frame, view: &Join) -> Markup {
    let fault = view.typed.fault("code");
    outside(
        frame,
        "Join",
        html! {
            (brand("Match-day bench service"))
            (fields::post_now(frame, "/join", "panel field", html! {
                label for="code" { "Code on your bench card" }
                input.code #code type="text" name="code" autocomplete="one-time-code" autocapitalize="characters" spellcheck="false" maxlength="16"
                    value=(view.code) required aria-describedby="code-hint" aria-invalid=[fault.map(|_| "true")];
                @if let Some(fault) = fault { p.fault role="alert" { (fault) } }
                p.meta #code-hint { "It signs this phone in to your team for this event only. The QR code on the card does the same." }
                button.btn.big.solid { "Join" }
            }))
            a.btn.soft href="/sign-in" { "Sign in with a password" }
            @if view.plain_http { p.meta { "This address is plain http: pages kept for offline, the wake lock and the camera stay off. Everything else works." } }
        },
    )
}

/// Who are you?
pub fn names(frame: &Frame, view: &Names) -> Markup {
    let tag = Tag {
        name: "Who are you?".into(),
        sub: format!("{}, this phone", view.of),
        bench: None,
        href: None,
    };
    let action = format!("{}/me", frame.base);
    // What came back is about the name that was asked, then.
    let nothing = Typed::default();
    frame::phone(
        frame,
        "Who are you",
        &tag,
        html! {
            (view.typed.summary())
            @if let Some(asked) = &view.asked {
                (fields::post_now(frame, &action, "panel stackform", html! {
                    input type="hidden" name=(asked.field) value=(asked.value);
                    (Text { required: true, kind: "pin", ..Text::new("pin", &format!("PIN of {}", asked.name)) }.show(&view.typed))
                    button.btn.big.solid { "Go on as " (asked.name) }
                }))
            }
            @if !view.people.is_empty() {
                (fields::post_now(frame, &action, "", html! { ul.names { @for person in &view.people { li {
                    button.btn.person.last[person.last] name="person" value=(person.id) {
                        span.ini aria-hidden="true" { (person.name.chars().next().unwrap_or('?')) }
                        span { b { (person.name) } span.rl { (person.does) } }
                        span.us { (person.used) }
                    }
                } } } }))
            }
            (fields::post_now(frame, &action, "panel stackform", html! {
                (Text { required: true, hint: "The name your crew calls you. It stands on every line you enter.", ..Text::new("name", "Somebody else") }.show(&view.typed))
                button.btn { "That is me" }
            }))
            p.meta { "Every line carries this name. A name picked for somebody else shows as “named by” you, and never counts as the second person." }
            @if let Some(own) = &view.own { (own_pin(frame, &action, own, if view.asked.is_some() { &nothing } else { &view.typed })) }
            @if !view.forgetful.is_empty() {
                (fields::post_now(frame, &format!("{action}/forgotten"), "panel stackform", html! {
                    (fields::select("forgetful", "Who forgot their PIN", "", "nobody", &view.forgetful, &view.typed))
                    button.btn { "Take it away" }
                }))
            }
        },
    )
}

fn own_pin(frame: &Frame, action: &str, own: &OwnPin, typed: &Typed) -> Markup {
    fields::post_now(
        frame,
        &format!("{action}/pin"),
        "panel stackform",
        html! {
            h2 { @if own.is_set { "Another PIN for " (own.name) } @else { "A PIN for " (own.name) } }
            p.intro { "With it you enter a line under your own name on somebody else’s phone, as the second person. Other phones then ask for it before they speak for you." }
            @if own.is_set { (Text { required: true, kind: "pin", ..Text::new("current", "The PIN as it is now") }.show(typed)) }
            (Text { id: "own-pin", required: true, kind: "pin", hint: "4 to 8 digits.", ..Text::new("pin", "New PIN") }.show(typed))
            button.btn { "Set it" }
        },
    )
}

/// Samples of the three pages.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use crate::http::pages::samples::{frame, outside_frame};
    let mut wrong = Typed::default();
    wrong.values.insert("name".into(), "ruth<i>".into());
    wrong
        .faults
        .insert(String::new(), "The name or the password is wrong.".into());
    let mut no_code = Typed::default();
    no_code
        .faults
        .insert("code".into(), "No card has this code today.".into());
    let person = |id: &str, name: &str, does: &str, used: &str, last| Person {
        id: id.into(),
        name: name.into(),
        does: does.into(),
        used: used.into(),
        last,
    };
    vec![
        (
            "sign-in",
            sign_in(
                &outside_frame(),
                &SignIn {
                    typed: wrong,
                    next: "/e/1".into(),
                },
            ),
        ),
        (
            "join",
            join(
                &outside_frame(),
                &Join {
                    code: "K7Q-4F2".into(),
                    typed: no_code,
                    plain_http: true,
                },
            ),
        ),
        (
            "names",
            names(
                &frame(),
                &Names {
                    of: "Quayside Shed".into(),
                    people: vec![
                        person("1", "Ana", "electrics", "used here 13:58", true),
                        person(
                            "2",
                            "Ben",
                            "mechanic, link holder",
                            "used here 12:20",
                            false,
                        ),
                        person("3", "Cal", "pneumatics", "", false),
                    ],
                    asked: Some(Asked {
                        field: "person",
                        value: "2".into(),
                        name: "Ben <b>".into(),
                    }),
                    own: Some(OwnPin {
                        name: "Ana".into(),
                        is_set: true,
                    }),
                    forgetful: vec![Chip::new("2", "Ben")],
                    typed: Typed::default(),
                },
            ),
        ),
    ]
}
