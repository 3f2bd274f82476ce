//! Headers that tell browsers what pages of this service may do.

use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};

/// Nothing from elsewhere, nothing inline, no frame around it.
/// **Source** Content Security Policy Level 3 (W3C).
const POLICY: &str = "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; \
     base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// The API's own reading room sets styles from script.
const POLICY_DOCS: &str = "default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; \
     object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Adds the headers to the answer for `path`; what a handler set itself stays.
pub fn add_headers(headers: &mut HeaderMap, path: &str) {
    let policy = if path.starts_with("/api/docs") {
        POLICY_DOCS
    } else {
        POLICY
    };
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // `no-referrer` would make browsers send `Origin: null` with forms of our own.
        (header::REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("permissions-policy"),
            "camera=(self), microphone=(), geolocation=(), screen-wake-lock=(self)",
        ),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        if !headers.contains_key(&name) {
            headers.insert(name, HeaderValue::from_static(value));
        }
    }
}
