//! Keeps other sites from posting in somebody's name.
//!
//! Browsers send the session's cookie by themselves, so a page of another site could make them post
//! here. Two things are in the way: the cookie is `SameSite=Lax`, so it stays away from posts of
//! other sites; and every request that changes something and is not signed by an `Authorization`
//! header has to come from a page of this host, by what the browser says in `Sec-Fetch-Site` or
//! `Origin`. No token goes along in the forms, because a form may wait in a phone's outbox for
//! longer than any token lives.
//!
//! **Source** Fetch Metadata (W3C), `Sec-Fetch-Site`; Fetch (WHATWG), `Origin`.

use super::problem::{Problem, ProblemKind};
use super::signed::COOKIE;
use actix_web::{dev::ServiceRequest, http::header};

/// Lets through what cannot be another site's doing.
///
/// # Errors
/// [`ProblemKind::OtherSite`].
pub fn check(request: &ServiceRequest) -> Result<(), Problem> {
    // An Authorization header is never sent by a browser on behalf of another site unasked.
    if request.method().is_safe() || request.headers().contains_key(header::AUTHORIZATION) {
        return Ok(());
    }
    let header = |name: &str| {
        request
            .headers()
            .get(name)
            .map(|value| value.to_str().unwrap_or(""))
    };
    let from_here = match (header("sec-fetch-site"), header("origin")) {
        (Some(site), _) => matches!(site, "same-origin" | "none"),
        (None, Some(origin)) => {
            let host = request.connection_info().host().to_owned();
            origin
                .split_once("://")
                .is_some_and(|(_, from)| from.eq_ignore_ascii_case(&host))
        }
        // No browser: then nothing was sent along unasked, unless there is a cookie after all.
        (None, None) => request.cookie(COOKIE).is_none(),
    };
    if from_here {
        return Ok(());
    }
    Err(Problem::new(
        ProblemKind::OtherSite,
        "What changes something is taken from pages of this host only.",
    ))
}
