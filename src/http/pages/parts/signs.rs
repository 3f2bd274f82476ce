//! Safety signs after ISO 3864 and forecast marks, always with their word.

use maud::{Markup, PreEscaped, html};

/// The artwork; it stands once in every page, so that the page's own colours reach it.
pub fn sprite() -> PreEscaped<&'static str> {
    PreEscaped(include_str!("signs.svg"))
}

/// What is known about the energy of a robot or of one of its sources.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Every source seen isolated.
    MadeSafe,
    /// Unknown, too old or disputed: treat as live.
    Unproved,
    /// Seen live.
    Live,
    /// Live where it belongs.
    InArena,
    /// Nobody entered anything.
    NoWord,
    /// Something must be done.
    Must,
}

impl Sign {
    /// The word that always stands with it.
    pub fn word(self) -> &'static str {
        match self {
            Self::MadeSafe => "Made safe",
            Self::Unproved => "Unproved",
            Self::Live => "Live",
            Self::InArena => "Live, in arena",
            Self::NoWord => "No word",
            Self::Must => "To do",
        }
    }

    /// The class that gives a panel its colours.
    pub fn class(self) -> &'static str {
        match self {
            Self::MadeSafe => "safe",
            Self::Unproved => "unproved",
            Self::Live => "live",
            Self::InArena | Self::NoWord | Self::Must => "arena",
        }
    }

    fn symbol(self) -> &'static str {
        match self {
            Self::MadeSafe => "#s-safe",
            Self::Unproved => "#s-unproved",
            Self::Live => "#s-live",
            Self::InArena => "#s-arena",
            Self::NoWord => "#s-noword",
            Self::Must => "#s-must",
        }
    }

    /// The sign where its word is not beside it.
    pub fn alone(self) -> Markup {
        html! { svg.sign role="img" aria-label=(self.word()) { use href=(self.symbol()) {} } }
    }

    /// The sign beside its word.
    pub fn beside_word(self) -> Markup {
        html! { svg.sign aria-hidden="true" { use href=(self.symbol()) {} } }
    }

    /// The sign of one source, by what was seen.
    pub fn of_source(self) -> Markup {
        let label = match self {
            Self::MadeSafe => "Seen isolated",
            other => other.word(),
        };
        html! { svg.sign role="img" aria-label=(label) { use href=(self.symbol()) {} } }
    }

    /// The large sign on its own colour.
    pub fn on_flag(self) -> Markup {
        let symbol = match self {
            Self::MadeSafe => "#s-safeglyph",
            Self::Live => "#s-liveinv",
            other => other.symbol(),
        };
        html! { svg aria-hidden="true" { use href=(symbol) {} } }
    }
}

/// A forecast for the next call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Forecast {
    /// Nothing left to do.
    Ready,
    /// Time to spare.
    OnCourse,
    /// Less time to spare than is comfortable.
    Tight,
    /// Will miss the call.
    Late,
    /// Something stands that no planned task clears.
    OnHold,
    /// No entries, so nothing to say.
    NoWord,
    /// In the arena now.
    InArena,
}

impl Forecast {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Ready => "Ready",
            Self::OnCourse => "On course",
            Self::Tight => "Tight",
            Self::Late => "Late",
            Self::OnHold => "On hold",
            Self::NoWord => "No word",
            Self::InArena => "In arena",
        }
    }

    /// The class that frames or inverts it.
    pub fn class(self) -> &'static str {
        match self {
            Self::Tight => "tight",
            Self::Late => "late",
            Self::OnHold => "hold",
            Self::Ready | Self::OnCourse | Self::NoWord | Self::InArena => "calm",
        }
    }

    /// Its mark: ink and thread, never a safety shape.
    pub fn mark(self) -> Markup {
        let symbol = match self {
            Self::Ready => "#f-ready",
            Self::OnCourse => "#f-course",
            Self::Tight => "#f-tight",
            Self::Late => "#f-late",
            Self::OnHold => "#f-hold",
            Self::NoWord => "#f-noword",
            Self::InArena => return html! {},
        };
        html! { svg.fmark aria-hidden="true" { use href=(symbol) {} } }
    }

    /// Mark and word on one line.
    pub fn inline(self) -> Markup {
        html! { span.fw.(self.class()) { (self.mark()) " " (self.word()) } }
    }
}
