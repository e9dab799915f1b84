//! The Fluent files and how a text is found in them.

use crate::{Language, localized, spoken};
use fluent_bundle::{FluentArgs, FluentResource, FluentValue, concurrent::FluentBundle};
use fluent_syntax::ast;
use std::collections::HashMap;
use std::fmt::Display;
use std::sync::OnceLock;

macro_rules! files {
    ($language:literal) => {
        &[
            include_str!(concat!("../../../assets/words/", $language, "/editor.ftl")),
            include_str!(concat!("../../../assets/words/", $language, "/glossary.ftl")),
            include_str!(concat!("../../../assets/words/", $language, "/answers.ftl")),
            include_str!(concat!("../../../assets/words/", $language, "/notices.ftl")),
            include_str!(concat!("../../../assets/words/", $language, "/plan.ftl")),
            include_str!(concat!("../../../assets/words/", $language, "/sheet.ftl")),
        ]
    };
}

const FILES: [&[&str]; 2] = [files!("en"), files!("de")];

struct Texts {
    bundle: FluentBundle<FluentResource>,
    /// Texts without a variable, written out once.
    plain: HashMap<String, &'static str>,
    /// Whatever does not read as Fluent.
    errors: Vec<String>,
}

fn texts(language: Language) -> &'static Texts {
    static ALL: [OnceLock<Texts>; 2] = [OnceLock::new(), OnceLock::new()];
    ALL[language as usize].get_or_init(|| load(language))
}

fn load(language: Language) -> Texts {
    let tag = unic_langid::LanguageIdentifier::from_bytes(language.tag().as_bytes()).unwrap_or_default();
    let mut bundle = FluentBundle::new_concurrent(vec![tag]);
    // Marks that keep right-to-left apart are of no use here: both languages run one way.
    bundle.set_use_isolating(false);
    let mut plain = HashMap::new();
    let mut errors = Vec::new();
    for file in FILES[language as usize] {
        let resource = FluentResource::try_new((*file).to_string()).unwrap_or_else(|(read, why)| {
            errors.extend(why.iter().map(ToString::to_string));
            read
        });
        let ids: Vec<String> = resource
            .entries()
            .filter_map(|e| match e {
                ast::Entry::Message(m) => Some(m.id.name.to_string()),
                _ => None,
            })
            .collect();
        if let Err(why) = bundle.add_resource(resource) {
            errors.extend(why.iter().map(|e| format!("{e:?}")));
        }
        for id in ids {
            let Some(pattern) = bundle.get_message(&id).and_then(|m| m.value()) else { continue };
            let mut wrong = Vec::new();
            let text = bundle.format_pattern(pattern, None, &mut wrong);
            if wrong.is_empty() {
                plain.insert(id, &*Box::leak(text.into_owned().into_boxed_str()));
            }
        }
    }
    Texts { bundle, plain, errors }
}

/// A value to be put into a text.
pub type Given = FluentValue<'static>;

/// What is given to a text, wrapped so that [`say!`](crate::say) finds how to write it.
pub struct Wrapped<'a, T: ?Sized>(pub &'a T);

/// Numbers, which are written with the decimal mark of the language.
pub trait GivenNumber {
    /// The value for the text.
    fn given(&self) -> Given;
}

/// Whatever else can be displayed; whole numbers choose between singular and plural.
pub trait GivenWords {
    /// The value for the text.
    fn given(&self) -> Given;
}

fn of_words(words: String) -> Given {
    match words.parse::<i64>() {
        Ok(n) if n.to_string() == words => FluentValue::from(n),
        _ => FluentValue::from(isolated(words)),
    }
}

/// Words between the marks of UAX #9 that keep what is written from the right from turning the text round it: a name
/// before a number would take the number along.
fn isolated(words: String) -> String {
    use unicode_bidi::BidiClass::{AL, AN, R};
    const FIRST_STRONG_ISOLATE: char = '\u{2068}';
    const POP_ISOLATE: char = '\u{2069}';
    match words.chars().any(|c| !c.is_ascii() && matches!(unicode_bidi::bidi_class(c), R | AL | AN)) {
        true => format!("{FIRST_STRONG_ISOLATE}{words}{POP_ISOLATE}"),
        false => words,
    }
}

macro_rules! number {
    ($($t:ty),+) => {
        $(impl GivenNumber for Wrapped<'_, $t> {
            fn given(&self) -> Given {
                of_words(localized(self.0.to_string()))
            }
        })+
    };
}
number!(f64, f32, &f64, &f32);

impl<T: Display + ?Sized> GivenWords for &Wrapped<'_, T> {
    fn given(&self) -> Given {
        of_words(self.0.to_string())
    }
}

/// The text of an identifier that takes no value, in the language that is spoken.
#[must_use]
pub fn text(id: &'static str) -> &'static str {
    let found = |l| texts(l).plain.get(id).copied();
    found(spoken()).or_else(|| found(Language::English)).unwrap_or(id)
}

/// The text of one place in the program, in each language it has been said in.
pub struct Said([OnceLock<&'static str>; Language::ALL.len()]);

impl Said {
    /// Nothing said yet.
    #[must_use]
    #[expect(clippy::new_without_default, reason = "for statics alone")]
    pub const fn new() -> Said {
        Said([const { OnceLock::new() }; Language::ALL.len()])
    }

    /// As [`text`].
    #[must_use]
    pub fn text(&self, id: &'static str) -> &'static str {
        self.0[spoken() as usize].get_or_init(|| text(id))
    }
}

/// The text of an identifier with its values, in the language that is spoken.
#[must_use]
pub fn text_with(id: &str, values: &[(&'static str, Given)]) -> String {
    let mut args = FluentArgs::with_capacity(values.len());
    for (name, value) in values {
        args.set(*name, value.clone());
    }
    let written = |language| {
        let bundle = &texts(language).bundle;
        let pattern = bundle.get_message(id)?.value()?;
        let mut wrong = Vec::new();
        let text = bundle.format_pattern(pattern, Some(&args), &mut wrong).into_owned();
        wrong.is_empty().then_some(text)
    };
    written(spoken()).or_else(|| written(Language::English)).unwrap_or_else(|| id.to_string())
}

/// Every identifier of a language with the variables that its text uses, and what does not read as Fluent.
#[must_use]
pub fn texts_of(language: Language) -> (Vec<(String, Vec<String>)>, Vec<String>) {
    let mut out = Vec::new();
    for file in FILES[language as usize] {
        let (Ok(read) | Err((read, _))) = fluent_syntax::parser::parse(*file);
        for entry in &read.body {
            let ast::Entry::Message(m) = entry else { continue };
            let mut variables = Vec::new();
            if let Some(pattern) = &m.value {
                of_pattern(pattern, &mut variables);
            }
            variables.sort();
            variables.dedup();
            out.push((m.id.name.to_string(), variables));
        }
    }
    (out, texts(language).errors.clone())
}

fn of_pattern(pattern: &ast::Pattern<&str>, out: &mut Vec<String>) {
    for element in &pattern.elements {
        if let ast::PatternElement::Placeable { expression } = element {
            of_expression(expression, out);
        }
    }
}

fn of_expression(expression: &ast::Expression<&str>, out: &mut Vec<String>) {
    let inline = match expression {
        ast::Expression::Select { selector, variants } => {
            for v in variants {
                of_pattern(&v.value, out);
            }
            selector
        }
        ast::Expression::Inline(inline) => inline,
    };
    match inline {
        ast::InlineExpression::VariableReference { id } => out.push(id.name.to_string()),
        ast::InlineExpression::Placeable { expression } => of_expression(expression, out),
        _ => {}
    }
}
