//! The house as it is drawn: seven floors, no arrow running up, and two floors that are pure.

use std::fs;
use std::path::Path;

/// Every source file by its path under `src`, with its text.
pub fn sources() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "rs") {
                let name = path
                    .strip_prefix(&root)
                    .unwrap()
                    .to_str()
                    .unwrap()
                    .to_owned();
                found.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() > 100);
    found
}

/// The floor a file is on.
fn floor(file: &str) -> &str {
    file.split(['/', '.']).next().unwrap()
}

/// Sources without comments and without tests, which may look anywhere.
fn code() -> Vec<(String, String)> {
    let all = sources();
    let mut tests = Vec::new();
    for (file, text) in &all {
        let folder = match file.strip_suffix("/mod.rs") {
            Some(folder) => folder,
            None => file.strip_suffix(".rs").unwrap(),
        };
        let mut lines = text.lines().map(str::trim);
        while let Some(line) = lines.next() {
            if line == "#[cfg(test)]"
                && let Some(declared) = lines.next()
                && let Some(name) = declared.strip_suffix(';')
            {
                let name = name.rsplit(' ').next().unwrap();
                tests.push(format!("{folder}/{name}."));
                tests.push(format!("{folder}/{name}/"));
            }
        }
    }
    all.into_iter()
        .filter(|(file, _)| !tests.iter().any(|test| file.starts_with(test)))
        .map(|(file, text)| {
            let mut kept = String::new();
            for line in text.lines() {
                if line.trim_start() == "mod tests {" {
                    break;
                }
                kept.push_str(line.split("//").next().unwrap());
                kept.push('\n');
            }
            (file, kept)
        })
        .collect()
}

/// Floors named by `crate::<floor>` in a piece of code, groups in braces included.
fn named_floors(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let before = code[..at].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
            continue;
        }
        let rest = &code[at + "crate::".len()..];
        if let Some(group) = rest.strip_prefix('{') {
            let group = &group[..group.find("};").unwrap_or(group.len())];
            let mut depth = 0;
            for part in group.split_inclusive([',', '{', '}']) {
                let word = part.trim().split([':', ',', '{', '}', ' ']).next().unwrap();
                if depth == 0 && !word.is_empty() {
                    found.push(word.to_owned());
                }
                depth += part.matches('{').count();
                depth -= part.matches('}').count().min(depth);
            }
        } else {
            let end = rest
                .find(|c: char| !c.is_alphanumeric() && c != '_')
                .unwrap_or(rest.len());
            found.push(rest[..end].to_owned());
        }
    }
    found
}

/// Whom each floor may use besides itself.
fn may_use(floor: &str) -> &'static [&'static str] {
    match floor {
        "calc" => &[],
        "pit" => &["calc"],
        "live" => &["pit"],
        "auth" => &["pit", "calc"],
        "store" => &["pit", "calc"],
        "app" => &["store", "auth", "live", "pit", "calc"],
        "http" => &["app", "pit", "calc", "auth", "live", "config"],
        "config" => &["store"],
        "telemetry" => &[],
        "cli" => &[
            "http",
            "app",
            "store",
            "auth",
            "config",
            "telemetry",
            "pit",
            "calc",
        ],
        "lib" | "main" => &["cli"],
        other => panic!("{other} is on no floor"),
    }
}

#[test]
fn no_arrow_runs_up() {
    let mut arrows = 0;
    for (file, text) in code() {
        let here = floor(&file).to_owned();
        for named in named_floors(&text) {
            if named == here {
                continue;
            }
            assert!(
                may_use(&here).contains(&named.as_str()),
                "{file} uses {named}, and {here} may use {:?} only",
                may_use(&here)
            );
            arrows += 1;
        }
    }
    assert!(arrows > 100, "the arrows are found at all: {arrows}");
}

#[test]
fn calc_and_pit_are_pure() {
    // A clock, a random source of its own, the outside world.
    const IMPURE: [&str; 26] = [
        "Utc::now",
        "Local::now",
        "SystemTime",
        "Instant::now",
        "std::fs",
        "std::net",
        "std::env",
        "std::process",
        "std::io::std",
        "std::thread",
        "static mut",
        "rand::rng",
        "thread_rng",
        "make_rng",
        "SysRng",
        "OsRng",
        "from_os_rng",
        "now_v7",
        "new_v4",
        "env!(",
        "println!",
        "eprintln!",
        "tracing::",
        "tokio::",
        "diesel::",
        "actix_web::",
    ];
    const ALLOWED: [&str; 13] = [
        "std",
        "core",
        "chrono",
        "uuid",
        "serde",
        "serde_json",
        "serde_path_to_error",
        "strsim",
        "utoipa",
        "thiserror",
        "statrs",
        "rand_chacha",
        "rand",
    ];
    for (file, code) in code() {
        if !matches!(floor(&file), "calc" | "pit") {
            continue;
        }
        for name in IMPURE {
            assert!(!code.contains(name), "{file} names {name}");
        }
        for line in code.lines() {
            let Some(used) = line
                .strip_prefix("use ")
                .or_else(|| line.strip_prefix("pub use "))
            else {
                continue;
            };
            let first = used.split([':', ';', ' ']).next().unwrap();
            let inside = ["crate", "super", "self"].contains(&first);
            // A module of its own is in lower case and declared in the same file.
            let own = code.contains(&format!("mod {first};"));
            assert!(
                inside || own || ALLOWED.contains(&first),
                "{file} uses {first}"
            );
        }
    }
}

#[test]
fn http_never_uses_the_store_and_only_the_store_speaks_sql() {
    for (file, code) in code() {
        match floor(&file) {
            "http" => assert!(!code.contains("store::"), "{file}"),
            "store" => {}
            _ => {
                for name in ["diesel::", "sql_query", "tokio_postgres"] {
                    assert!(!code.contains(name), "{file} names {name}");
                }
            }
        }
    }
}

#[test]
fn every_file_says_in_its_first_line_what_it_is() {
    for (file, text) in sources() {
        assert!(text.starts_with("//! "), "{file}");
    }
}

#[test]
fn there_are_no_other_top_level_entries() {
    const THERE: [&str; 11] = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "src",
        "migrations",
        "openapi",
        "tests",
        "deploy",
        "target",
        "clippy.toml",
    ];
    for entry in fs::read_dir(env!("CARGO_MANIFEST_DIR")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            name.starts_with('.') || THERE.contains(&name.as_str()),
            "{name}"
        );
    }
}
