//! A card that lets a phone join.

use crate::http::pages::parts::frame::{self, Frame};
use maud::{Markup, PreEscaped, html};

/// A card that lets a phone join: code and QR.
#[derive(Debug)]
pub struct JoinCard {
    /// The event.
    pub event: String,
    /// The team or role it is for.
    pub of: String,
    /// The code as people type it.
    pub code: String,
    /// The address it stands for.
    pub url: String,
    /// The QR code, drawn.
    pub qr: PreEscaped<String>,
    /// Where to go back to.
    pub back: String,
}

/// The card, to print or to hold up.
pub fn join_card(frame: &Frame, card: &JoinCard) -> Markup {
    frame::document(
        frame,
        &format!("Card: {}", card.of),
        "cardpage",
        html! {
            p.noprint.cardhelp { "Print it, or let people scan it from here. " a.btn href=(card.back) { "Back" } }
            main.a6.joincard #main {
                header.hd { div { h1 { (card.of) } p { (card.event) } } }
                figure { (card.qr) }
                div { p.bigcode { (card.code) } p { "Scan it, or open " (card.url) " and type the code. It signs a phone in to " (card.of) " for this event only." } }
                footer.ft { p { "Whoever has this card can write for " (card.of) ". Keep it at the bench." } }
            }
        },
    )
}

/// Draws a QR code.
///
/// # Errors
/// The address is too long for one.
pub fn draw_qr(url: &str) -> Result<PreEscaped<String>, qrcode::types::QrError> {
    let code = qrcode::QrCode::new(url.as_bytes())?;
    let svg = code
        .render::<qrcode::render::svg::Color<'_>>()
        .min_dimensions(220, 220)
        .dark_color(qrcode::render::svg::Color("#000"))
        .light_color(qrcode::render::svg::Color("#fff"))
        .build();
    // The drawing comes with an XML declaration, which does not belong inside a page.
    let svg = svg.find("<svg").map_or(svg.as_str(), |at| &svg[at..]);
    Ok(PreEscaped(svg.to_owned()))
}
