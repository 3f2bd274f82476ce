//! Forms and their fields: the fault beside the field, what was typed kept.

use super::frame::Frame;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// What came back from a form that could not be taken: what was typed, and what is wrong.
#[derive(Debug, Clone, Default)]
pub struct Typed {
    /// What was typed, by field.
    pub values: BTreeMap<String, String>,
    /// What is wrong, by field; `""` for the form as a whole.
    pub faults: BTreeMap<String, String>,
}

impl Typed {
    /// What was typed in `name`, or `before` where nothing was.
    pub fn or<'a>(&'a self, name: &str, before: &'a str) -> &'a str {
        self.values.get(name).map_or(before, String::as_str)
    }

    /// What is wrong with `name`.
    pub fn fault(&self, name: &str) -> Option<&str> {
        self.faults.get(name).map(String::as_str)
    }

    /// Whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.faults.is_empty()
    }

    /// What is wrong as a whole, and how many fields are.
    pub fn summary(&self) -> Markup {
        let fields = self.faults.keys().filter(|name| !name.is_empty()).count();
        html! {
            @if !self.is_sound() {
                div.panel.faults role="alert" tabindex="-1" autofocus {
                    h2 { "Not saved" }
                    @if let Some(whole) = self.fault("") { p { (whole) } }
                    @if fields > 0 { p { (fields) @if fields == 1 { " field needs" } @else { " fields need" } " another look. What you entered is kept." } }
                }
            }
        }
    }
}

/// A form that writes lines: it carries its line ids, so that sent twice it is recorded once, and
/// waits in the outbox where there is no network.
pub fn post(frame: &Frame, action: &str, class: &str, inside: Markup) -> Markup {
    html! {
        form.(class) method="post" action=(action) data-outbox {
            input type="hidden" name="key" value=(frame.keys.give());
            (inside)
        }
    }
}

/// The same with a file in it.
pub fn post_file(frame: &Frame, action: &str, class: &str, inside: Markup) -> Markup {
    html! {
        form.(class) method="post" action=(action) enctype="multipart/form-data" data-outbox {
            input type="hidden" name="key" value=(frame.keys.give());
            (inside)
        }
    }
}

/// A form that needs its answer at once, such as signing in: it never waits in the outbox.
pub fn post_now(frame: &Frame, action: &str, class: &str, inside: Markup) -> Markup {
    html! {
        form.(class) method="post" action=(action) {
            input type="hidden" name="key" value=(frame.keys.give());
            (inside)
        }
    }
}

/// A labelled line of text.
#[derive(Debug, Clone, Copy)]
pub struct Text<'a> {
    /// Its name in the form.
    pub name: &'a str,
    /// Its id on the page, where another form of it asks for the same; its name otherwise.
    pub id: &'a str,
    /// Its label.
    pub label: &'a str,
    /// `text`, `password`, `pin`, `date`, `datetime-local`, `number`.
    pub kind: &'a str,
    /// What stands in it before anybody types.
    pub value: &'a str,
    /// A line that helps.
    pub hint: &'a str,
    /// The unit behind it.
    pub unit: &'a str,
    /// It cannot be left empty.
    pub required: bool,
    /// What the browser may fill in.
    pub autocomplete: &'a str,
}

impl<'a> Text<'a> {
    /// A plain line of text.
    pub fn new(name: &'a str, label: &'a str) -> Self {
        Self {
            name,
            id: name,
            label,
            kind: "text",
            value: "",
            hint: "",
            unit: "",
            required: false,
            autocomplete: "off",
        }
    }

    /// The field, with what was typed and what is wrong.
    pub fn show(&self, typed: &Typed) -> Markup {
        let fault = typed.fault(self.name);
        let hint_id = format!("{}-hint", self.id);
        let fault_id = format!("{}-fault", self.id);
        let described = match (self.hint.is_empty(), fault.is_some()) {
            (true, false) => None,
            (false, false) => Some(hint_id.clone()),
            (true, true) => Some(fault_id.clone()),
            (false, true) => Some(format!("{fault_id} {hint_id}")),
        };
        let number = self.kind == "number";
        let pin = self.kind == "pin";
        // A number's keypad with text semantics: no spinner, no scroll wheel, what was typed is kept.
        let kind = match self.kind {
            "number" => "text",
            "pin" => "password",
            other => other,
        };
        let keep = if kind == "password" {
            ""
        } else {
            typed.or(self.name, self.value)
        };
        html! {
            div.field {
                label for=(self.id) { (self.label) @if !self.required { span.meta { " optional" } } }
                div.box {
                    input id=(self.id) name=(self.name) type=(kind) value=(keep)
                        inputmode=[if pin { Some("numeric") } else { number.then_some("decimal") }] maxlength=[pin.then_some(8)] autocomplete=(self.autocomplete)
                        required[self.required] aria-invalid=[fault.map(|_| "true")] aria-describedby=[described];
                    @if !self.unit.is_empty() { span.unit { (self.unit) } }
                }
                @if let Some(fault) = fault { p.fault id=(fault_id) { (fault) } }
                @if !self.hint.is_empty() { p.meta id=(hint_id) { (self.hint) } }
            }
        }
    }
}

/// One of several, as tappable chips.
#[derive(Debug, Clone)]
pub struct Chip {
    /// What the form sends.
    pub value: String,
    /// What stands on it.
    pub label: String,
    /// A second, smaller line.
    pub small: &'static str,
}

impl Chip {
    /// A chip of one line.
    pub fn new(value: impl Into<String>, label: impl Into<String>) -> Self {
        Self {
            value: value.into(),
            label: label.into(),
            small: "",
        }
    }
}

/// Chips of which one is chosen; none at first if `chosen` is none of them.
pub fn chips(name: &str, legend: &str, chosen: &str, options: &[Chip], typed: &Typed) -> Markup {
    let chosen = typed.or(name, chosen);
    let fault = typed.fault(name);
    html! {
        fieldset aria-invalid=[fault.map(|_| "true")] {
            legend.lab-h { (legend) }
            div.chips {
                @for chip in options {
                    label { input type="radio" name=(name) value=(chip.value) checked[chip.value == chosen];
                        span { (chip.label) @if !chip.small.is_empty() { small { (chip.small) } } } }
                }
            }
            @if let Some(fault) = fault { p.fault { (fault) } }
        }
    }
}

/// A list to choose from.
pub fn select(
    name: &str,
    label: &str,
    chosen: &str,
    empty: &str,
    options: &[Chip],
    typed: &Typed,
) -> Markup {
    let chosen = typed.or(name, chosen);
    let fault = typed.fault(name);
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-invalid=[fault.map(|_| "true")] {
                @if !empty.is_empty() { option value="" { (empty) } }
                @for option in options { option value=(option.value) selected[option.value == chosen] { (option.label) } }
            }
            @if let Some(fault) = fault { p.fault { (fault) } }
        }
    }
}

/// When something was seen: now, 2, 5 or 10 min ago.
pub fn when_chips(typed: &Typed) -> Markup {
    let ago = |minutes: &str| Chip {
        value: minutes.to_owned(),
        label: format!("{minutes} min"),
        small: "ago",
    };
    chips(
        "ago",
        "When",
        "0",
        &[Chip::new("0", "now"), ago("2"), ago("5"), ago("10")],
        typed,
    )
}

/// The PIN of a second person who enters something on this phone under their own name. A form that
/// carries one is sent at once or not at all: it never waits in the outbox.
pub fn pin(id: &str, typed: &Typed) -> Markup {
    Text {
        id,
        kind: "pin",
        hint: "With it the line counts as theirs. Without it they are only named by you.",
        ..Text::new("pin", "Their PIN")
    }
    .show(typed)
}

/// Who saw or did it: the person of this phone, or another one, who enters it by their PIN.
pub fn who(people: &[Chip], chosen: &str, typed: &Typed) -> Markup {
    html! {
        @if people.len() > 1 {
            (chips("who", "Who", chosen, people, typed))
            details.second open[typed.fault("pin").is_some()] { summary.btn.small.soft { "Somebody else than you: their PIN" } (pin("pin", typed)) }
        }
    }
}
