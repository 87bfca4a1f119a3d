//! Pages for people: one layout, one stylesheet, strict escaping, nothing from outside.
//!
//! A page is a [`Template`] filled with a plain serialisable struct. Every value is escaped for HTML; a name that the
//! struct does not have is an error, not an empty place. Style and script stand inside the page, and its security policy
//! allows these two by their digests and nothing else: no network, no other script, no form, no frame.
//!
//! A template extends `layout.html` and fills the blocks `title`, `head` (the top of the page) and `main`; it may call
//! `cautions()` of `parts.html`. The stylesheet knows light, dark and paper (A4 and Letter). `style="…"` and `onclick="…"`
//! do not work under the policy and are not needed.

mod security;

use crate::cautions::{CAUTIONS, SAFETY};
use crate::chart::svg::fonts;
use crate::error::Failure;
use crate::legible::{clean, legible, steers};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value, context, escape_formatter};
use serde::Serialize;

const LAYOUT: &str = include_str!("layout.html");
const PARTS: &str = include_str!("parts.html");
const STYLE: &str = include_str!("page.css");

/// One kind of page.
#[derive(Clone, Copy, Debug)]
pub struct Template {
    /// Its name, for messages.
    pub name: &'static str,
    /// The template itself, which extends `layout.html`.
    pub source: &'static str,
    /// The script that the page runs, without which it must still be complete.
    pub script: Option<&'static str>,
    /// Whether charts are parts of the page, so that it has their fonts.
    pub fonts: bool,
}

/// Pages ready to be filled.
pub struct Pages {
    environment: Environment<'static>,
}

impl Pages {
    /// Makes these kinds of pages ready.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when a template is not sound.
    pub fn new(templates: &[Template]) -> Result<Self, Failure> {
        let mut environment = Environment::new();
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        let syntax = SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build();
        environment.set_syntax(syntax.map_err(|error| failure("syntax", &error))?);
        let own = [("layout.html", LAYOUT), ("parts.html", PARTS)];
        for (name, source) in own.into_iter().chain(templates.iter().map(|template| (template.name, template.source))) {
            environment.add_template(name, source).map_err(|error| failure(name, &error))?;
        }
        // Text of other people: nothing in it hides, and nothing turns the direction of writing.
        environment.add_filter("clean", |text: &str| clean(text));
        environment.set_formatter(|out, state, value| match value.as_str() {
            Some(text) if !value.is_safe() && text.chars().any(steers) => {
                escape_formatter(out, state, &Value::from(legible(text)))
            }
            _ => escape_formatter(out, state, value),
        });
        environment.add_global("program", crate::program::NAME);
        environment.add_global("cautions_text", CAUTIONS);
        environment.add_global("safety_text", SAFETY);
        Ok(Self { environment })
    }

    /// Fills one page.
    ///
    /// # Errors
    ///
    /// A [`Failure`] when the template names what `content` does not have.
    pub fn render(&self, template: &Template, content: &impl Serialize) -> Result<String, Failure> {
        let mut style = STYLE.to_owned();
        if template.fonts {
            style.push_str(&fonts());
        }
        let security = security::policy(&style, template.script, template.fonts);
        let frame = context! {
            style => Value::from_safe_string(style),
            script => template.script.map(|script| Value::from_safe_string(script.to_owned())),
            security,
        };
        let content = context! { ..frame, ..Value::from(Serde(content)) };
        self.environment
            .get_template(template.name)
            .and_then(|page| page.render(content))
            .map_err(|error| failure(template.name, &error))
    }
}

fn failure(name: &str, error: &minijinja::Error) -> Failure {
    Failure::internal(format!("{name}: the page cannot be made: {error}"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Content {
        name: &'static str,
    }

    const PAGE: Template = Template {
        name: "page.html",
        source: "{% extends 'layout.html' %}{% import 'parts.html' as parts %}{% block title %}{{ name }}{% endblock %}\
                 {% block main %}<p title=\"{{ name|clean }}\">{{ name }}</p>{{ parts.cautions() }}{% endblock %}",
        script: Some("document.title"),
        fonts: false,
    };

    #[test]
    fn what_comes_from_a_file_stays_text() {
        let pages = Pages::new(&[PAGE]).unwrap();
        let page = pages.render(&PAGE, &Content { name: "\"><script>alert('x')</script>&\u{202e}" }).unwrap();
        assert_eq!(page.matches("<script").count(), 1, "{page}");
        assert!(page.contains("&quot;&gt;&lt;script&gt;alert(&#x27;x&#x27;)&lt;&#x2f;script&gt;&amp;\\u{202e}</p>"));
        assert!(page.contains("&lt;&#x2f;script&gt;&amp;\\u{202e}\">"));
        assert!(page.contains("This does not release a machine."));
    }

    #[test]
    fn a_name_that_is_not_there_is_an_error() {
        let wrong = Template { source: "{% extends 'layout.html' %}{% block main %}{{ nmae }}{% endblock %}", ..PAGE };
        let failure = Pages::new(&[wrong]).unwrap().render(&wrong, &Content { name: "a" }).unwrap_err();
        assert!(failure.to_string().starts_with("page.html: the page cannot be made: undefined value"), "{failure}");
    }

    #[test]
    fn nothing_in_the_layout_asks_for_anything_from_outside() {
        for text in [LAYOUT, PARTS, STYLE] {
            for word in ["http:", "https:", "//", "@import", "url("] {
                assert!(!text.contains(word), "{word}");
            }
        }
    }
}
