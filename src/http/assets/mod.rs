//! Style sheets, scripts and icons, built into the program and served under a name of their content.

use actix_web::{
    HttpResponse, Scope,
    http::header::{CACHE_CONTROL, CONTENT_TYPE},
    web,
};
use rust_embed::Embed;
use sha2::{Digest, Sha256};
use std::{fmt::Write as _, sync::LazyLock};

#[derive(Embed)]
#[folder = "src/http/assets/files"]
struct Files;

/// Names all assets together by their content, so that a script's relative imports stay within
/// one build and every answer may be kept for a year.
static DIGEST: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Files::iter().collect();
    names.sort();
    let mut sum = Sha256::new();
    for name in names {
        sum.update(name.as_bytes());
        if let Some(file) = Files::get(&name) {
            sum.update(&file.data);
        }
    }
    sum.finalize()
        .iter()
        .take(8)
        .fold(String::new(), |mut text, byte| {
            // Writing to a String cannot fail.
            let _ = write!(text, "{byte:02x}");
            text
        })
});

/// Where the asset `path` is served: it changes when any asset does.
pub fn url(path: &str) -> String {
    format!("/assets/{}/{path}", *DIGEST)
}

/// The digest of all assets, as it stands in their addresses.
pub fn digest() -> &'static str {
    &DIGEST
}

/// Everything under `/assets`.
pub fn routes() -> Scope {
    web::scope("/assets").route("/{digest}/{path:.*}", web::get().to(serve))
}

/// The two files that must stand at the root to reach every page, with their content types.
pub fn root_routes(config: &mut web::ServiceConfig) {
    config
        .route(
            "/service-worker.js",
            web::get().to(|| async { at_root("service-worker.js") }),
        )
        .route(
            "/app.webmanifest",
            web::get().to(|| async { at_root("app.webmanifest") }),
        )
        .route(
            "/favicon.ico",
            web::get().to(|| async { at_root("icon.svg") }),
        );
}

async fn serve(path: web::Path<(String, String)>) -> HttpResponse {
    let (digest, name) = path.into_inner();
    // A page that was open across an upgrade still asks for its old address: it gets what there
    // is now, but keeps nothing of it.
    let keep = if digest == *DIGEST {
        "public, max-age=31536000, immutable"
    } else {
        "no-store"
    };
    answer(&name, keep)
}

fn at_root(name: &str) -> HttpResponse {
    answer(name, "no-cache")
}

fn answer(name: &str, keep: &'static str) -> HttpResponse {
    match Files::get(name) {
        Some(file) => HttpResponse::Ok()
            .insert_header((CACHE_CONTROL, keep))
            .insert_header((CONTENT_TYPE, content_type(name)))
            .body(file.data.into_owned()),
        None => HttpResponse::NotFound().finish(),
    }
}

fn content_type(name: &str) -> String {
    match name.rsplit_once('.') {
        Some((_, "webmanifest")) => "application/manifest+json".to_owned(),
        Some((_, "js" | "css")) => format!(
            "{}; charset=utf-8",
            mime_guess::from_path(name).first_or_octet_stream()
        ),
        _ => mime_guess::from_path(name)
            .first_or_octet_stream()
            .to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_asset_has_a_type_browsers_accept() {
        for name in Files::iter() {
            let found = content_type(&name);
            let wanted = match name.rsplit_once('.').map(|(_, end)| end) {
                Some("css") => "text/css",
                // WHATWG HTML asks for a JavaScript MIME type essence; text/javascript is the one
                // RFC 9239 keeps.
                Some("js") => "text/javascript",
                Some("svg") => "image/svg+xml",
                Some("png") => "image/png",
                Some("webmanifest") => "application/manifest+json",
                other => panic!("{name}: nobody decided how to serve {other:?}"),
            };
            assert!(found.starts_with(wanted), "{name}: {found}");
        }
    }

    #[test]
    fn assets_ask_nothing_from_elsewhere() {
        for name in Files::iter() {
            let Some(file) = Files::get(&name) else {
                panic!("{name} is listed but not there");
            };
            let text = String::from_utf8_lossy(&file.data);
            for outside in [
                "url(http",
                "url(//",
                "from \"http",
                "import(\"http",
                "@import",
                "src=\"http",
            ] {
                assert!(!text.contains(outside), "{name} holds {outside}");
            }
        }
    }
}
