//! Which addresses there are and which methods each takes, for 404, 405 and OPTIONS.

use super::problem::{Problem, ProblemKind};
use actix_web::{HttpRequest, dev::ServiceRequest, web};
use std::collections::BTreeMap;
use utoipa::openapi::OpenApi;

/// Addresses as patterns, each with the methods it takes.
#[derive(Debug, Default)]
pub struct Known(BTreeMap<String, Vec<&'static str>>);

impl Known {
    /// The addresses of the published document, and those of the pages: method and pattern.
    pub fn new(document: &OpenApi, others: &[(&'static str, &'static str)]) -> Self {
        let mut known = Self::default();
        for (pattern, item) in &document.paths.paths {
            for (method, there) in [
                ("DELETE", item.delete.is_some()),
                ("GET", item.get.is_some()),
                ("PATCH", item.patch.is_some()),
                ("POST", item.post.is_some()),
                ("PUT", item.put.is_some()),
            ] {
                if there {
                    known.add(method, pattern);
                }
            }
        }
        for (method, pattern) in others {
            known.add(method, pattern);
        }
        known
    }

    fn add(&mut self, method: &'static str, pattern: &str) {
        let methods = self.0.entry(pattern.to_owned()).or_default();
        if !methods.contains(&method) {
            methods.push(method);
            methods.sort_unstable();
        }
    }

    /// The header Allow of the address a request is for.
    pub fn allow(&self, request: &ServiceRequest) -> Option<String> {
        self.allow_for(request.path())
    }

    /// The header Allow of the address `path`.
    pub fn allow_for(&self, path: &str) -> Option<String> {
        let mut methods: Vec<&str> = Vec::new();
        for (pattern, known) in &self.0 {
            if fits(pattern, path) {
                methods.extend(known);
            }
        }
        if methods.is_empty() {
            return None;
        }
        if methods.contains(&"GET") {
            methods.push("HEAD");
        }
        methods.push("OPTIONS");
        methods.sort_unstable();
        methods.dedup();
        Some(methods.join(", "))
    }
}

/// Whether `path` is one of those that `pattern` stands for: `{..}` is any one segment, and
/// `{..:.*}` at the end is anything.
fn fits(pattern: &str, path: &str) -> bool {
    if let Some((before, _)) = pattern.split_once(":.*}") {
        let before = before.rsplit_once('{').map_or(before, |(fixed, _)| fixed);
        return path.starts_with(before);
    }
    let (mut wanted, mut given) = (pattern.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(wanted), Some(given)) => {
                let any = wanted.starts_with('{') && !given.is_empty();
                if !any && wanted != given {
                    return false;
                }
            }
            _ => return false,
        }
    }
}

/// Answers what no route takes: 405 with the methods there are, or 404.
///
/// # Errors
/// Always.
pub async fn nothing_here(request: HttpRequest) -> Result<String, Problem> {
    let allow = request
        .app_data::<web::Data<super::edge::Edge>>()
        .and_then(|edge| edge.known.allow_for(request.path()));
    Err(match allow {
        Some(allow) => Problem {
            allow: Some(allow.clone()),
            ..Problem::new(
                ProblemKind::WrongMethod,
                format!("This address takes {allow}."),
            )
        },
        None => Problem::new(ProblemKind::Unknown, "Nothing has this address."),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_fits_its_own_pattern_only() {
        for (pattern, path, expected) in [
            ("/api/v1/events/{event}", "/api/v1/events/7", true),
            ("/api/v1/events/{event}", "/api/v1/events/", false),
            ("/api/v1/events/{event}", "/api/v1/events/7/lines", false),
            ("/healthz", "/healthz", true),
            ("/api/docs/{_:.*}", "/api/docs/a/b.js", true),
            ("/api/docs/{_:.*}", "/api/doc", false),
        ] {
            assert_eq!(fits(pattern, path), expected, "{pattern} {path}");
        }
    }
}
