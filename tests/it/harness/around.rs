//! JSON around a published form: mostly what the form allows, at its bounds more often than chance
//! would have it, with a thing out of place now and then.

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use proptest::strategy::Union;
use serde_json::{Map, Number, Value, json};
use uuid::Uuid;

/// How deep forms are followed; below that anything goes.
const DEEPEST: u32 = 12;

/// What there is, so that ids and subjects lead somewhere.
pub struct World {
    /// The published document.
    pub document: Value,
    /// Subjects of lines that exist, such as `robot:…`.
    pub subjects: Vec<String>,
    /// About when it is.
    pub now: DateTime<Utc>,
}

impl World {
    /// JSON around a form.
    pub fn around(&self, form: &Value) -> BoxedStrategy<Value> {
        self.near(form, DEEPEST)
    }

    fn near(&self, form: &Value, depth: u32) -> BoxedStrategy<Value> {
        if depth == 0 {
            return anything();
        }
        prop_oneof![40 => self.within(form, depth), 1 => anything()].boxed()
    }

    fn within(&self, form: &Value, depth: u32) -> BoxedStrategy<Value> {
        let deeper = |form: &Value| self.near(form, depth - 1);
        if let Some(name) = form["$ref"].as_str() {
            let name = name.trim_start_matches('#');
            return self.within(self.document.pointer(name).unwrap(), depth);
        }
        if let Some(words) = form["enum"].as_array() {
            return proptest::sample::select(words.clone()).boxed();
        }
        if let Some(choice) = form["oneOf"].as_array() {
            return Union::new(choice.iter().map(deeper)).boxed();
        }
        match &form["type"] {
            Value::Array(types) => {
                Union::new(types.iter().map(|one| self.of_type(one, form, depth))).boxed()
            }
            one => self.of_type(one, form, depth),
        }
    }

    fn of_type(&self, name: &Value, form: &Value, depth: u32) -> BoxedStrategy<Value> {
        match name.as_str() {
            Some("null") => Just(Value::Null).boxed(),
            Some("boolean") => any::<bool>().prop_map(Value::Bool).boxed(),
            Some("integer") => whole(form),
            Some("number") => fraction(form),
            Some("string") => self.text(form),
            Some("array") => self.list(form, depth),
            Some("object") => self.object(form, depth),
            _ => anything(),
        }
    }

    fn list(&self, form: &Value, depth: u32) -> BoxedStrategy<Value> {
        let bound = |name: &str| form[name].as_u64().and_then(|n| usize::try_from(n).ok());
        let least = bound("minItems").unwrap_or(0);
        let most = bound("maxItems").unwrap_or(usize::MAX).min(least + 3);
        proptest::collection::vec(self.near(&form["items"], depth - 1), least..=most)
            .prop_map(Value::Array)
            .boxed()
    }

    fn object(&self, form: &Value, depth: u32) -> BoxedStrategy<Value> {
        let mut members: BoxedStrategy<Map<String, Value>> = Just(Map::new()).boxed();
        let needed = form["required"].as_array();
        for (name, form) in form["properties"].as_object().into_iter().flatten() {
            let is_needed = needed.is_some_and(|all| all.iter().any(|one| one == name));
            let there = if is_needed { 0.99 } else { 0.4 };
            let value = proptest::option::weighted(there, self.near(form, depth - 1));
            let name = name.clone();
            members = (members, value)
                .prop_map(move |(mut members, value)| {
                    if let Some(value) = value {
                        members.insert(name.clone(), value);
                    }
                    members
                })
                .boxed();
        }
        let more = &form["additionalProperties"];
        if more.is_object() {
            let names = &form["propertyNames"];
            let name = if names.is_object() {
                self.near(names, depth - 1)
            } else {
                "[a-z_]{1,12}".prop_map(Value::String).boxed()
            };
            let more = proptest::collection::vec((name, self.near(more, depth - 1)), 0..4);
            members = (members, more)
                .prop_map(|(mut members, more)| {
                    for (name, value) in more {
                        if let Value::String(name) = name {
                            members.insert(name, value);
                        }
                    }
                    members
                })
                .boxed();
        }
        members.prop_map(Value::Object).boxed()
    }

    fn text(&self, form: &Value) -> BoxedStrategy<Value> {
        let strategy = match (form["format"].as_str(), form["pattern"].as_str()) {
            (Some("uuid"), _) => self.id(),
            (Some("date-time"), _) => self.moment(),
            (Some("date"), _) => prop_oneof![
                Just("2027-01-15".to_owned()),
                "[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])",
            ]
            .boxed(),
            (_, Some(pattern)) => self.of_pattern(pattern),
            _ => {
                let bound = |name: &str, other| form[name].as_u64().unwrap_or(other);
                let (least, most) = (bound("minLength", 0), bound("maxLength", 2_000));
                prop_oneof![
                    6 => proptest::string::string_regex(&format!("\\PC{{{least},{}}}", most.min(least + 12))).unwrap(),
                    1 => proptest::string::string_regex(&format!(".{{{least},{}}}", most.min(least + 12))).unwrap(),
                    1 => Just("m".repeat(usize::try_from(most).unwrap())),
                ]
                .boxed()
            }
        };
        strategy.prop_map(Value::String).boxed()
    }

    fn of_pattern(&self, pattern: &str) -> BoxedStrategy<String> {
        let noun = pattern.trim_start_matches(['^', '(']);
        let known: Vec<String> = self
            .subjects
            .iter()
            .filter(|subject| {
                let own = subject.split(':').next().unwrap_or_default();
                noun.starts_with(&format!("{own}:")) || noun.starts_with("event|")
            })
            .cloned()
            .collect();
        let bare = pattern.trim_start_matches('^').trim_end_matches('$');
        let made = proptest::string::string_regex(bare).unwrap();
        if known.is_empty() {
            return made.boxed();
        }
        prop_oneof![6 => proptest::sample::select(known), 1 => made].boxed()
    }

    fn id(&self) -> BoxedStrategy<String> {
        let known = self
            .subjects
            .iter()
            .filter_map(|subject| subject.split_once(':'));
        let known: Vec<String> = known.map(|(_, id)| id.to_owned()).collect();
        let new = any::<u128>().prop_map(|id| Uuid::from_u128(id).to_string());
        prop_oneof![4 => proptest::sample::select(known), 3 => new].boxed()
    }

    fn moment(&self) -> BoxedStrategy<String> {
        let now = self.now;
        let near = (-200_000_i64..20_000)
            .prop_map(move |second| (now + TimeDelta::seconds(second)).to_rfc3339());
        let strange = proptest::sample::select(vec![
            "0001-01-01T00:00:00Z",
            "9999-12-31T23:59:60Z",
            "+262142-12-31T23:59:59Z",
            "2027-01-15T08:00:00+14:00",
            "2027-02-30T08:00:00Z",
        ]);
        prop_oneof![8 => near, 1 => strange.prop_map(str::to_owned)].boxed()
    }
}

/// Numbers of a form: at its bounds, just beyond them, between them.
fn whole(form: &Value) -> BoxedStrategy<Value> {
    let bound = |name: &str| form[name].as_f64();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "bounds are small whole numbers"
    )]
    let bound = |name: &str, other: i64| bound(name).map_or(other, |bound| bound as i64);
    let (least, most) = (
        bound("minimum", i64::MIN / 2),
        bound("maximum", i64::MAX / 2),
    );
    let (near_least, near_most) = (least.max(-100), most.min(least.max(-100) + 2_000));
    prop_oneof![
        6 => near_least..=near_most.max(near_least),
        2 => least..=most,
        1 => Just(least),
        1 => Just(most),
        1 => proptest::sample::select(vec![least - 1, most + 1, i64::MIN, i64::MAX]),
    ]
    .prop_map(|number| json!(number))
    .boxed()
}

fn fraction(form: &Value) -> BoxedStrategy<Value> {
    let bound = |name: &str, other: f64| form[name].as_f64().unwrap_or(other);
    let least = bound("minimum", bound("exclusiveMinimum", -1e6));
    let most = bound("maximum", bound("exclusiveMaximum", least.max(1.0) * 1e3));
    prop_oneof![
        6 => least..=most,
        1 => Just(least),
        1 => Just(most),
        1 => proptest::sample::select(vec![0.0, -0.0, 1e-300, -1e300, 1e300, f64::MAX]),
    ]
    .prop_map(|number| Number::from_f64(number).map_or(Value::Null, Value::Number))
    .boxed()
}

/// Anything small.
fn anything() -> BoxedStrategy<Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        any::<i64>().prop_map(|number| json!(number)),
        any::<f64>().prop_map(|number| json!(number)),
        ".{0,8}".prop_map(Value::String),
    ];
    leaf.prop_recursive(3, 12, 3, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..3).prop_map(Value::Array),
            proptest::collection::vec((".{0,8}", inner), 0..3)
                .prop_map(|members| Value::Object(members.into_iter().collect())),
        ]
    })
    .boxed()
}
