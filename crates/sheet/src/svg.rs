//! SVG with the typeface embedded.

use crate::font::{BOLD_TTF, FAMILY, REGULAR_TTF};
use crate::marks::{Align, Ink, Line, Shape, Weight};
use crate::page::Page;
use base64::Engine;
use glam::DVec2;
use std::fmt::Write;

/// Whether the file carries its typeface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fonts {
    Embedded,
    Outside,
}

/// Writes a page as SVG in real millimetres.
#[must_use]
pub fn to_svg(page: &Page) -> String {
    write(page, Fonts::Embedded)
}

pub(crate) fn write(page: &Page, fonts: Fonts) -> String {
    let mut out = String::new();
    let (w, h) = (page.width_mm, page.height_mm);
    let _ = writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" font-family="{FAMILY}, sans-serif">"#
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&page.title));
    if fonts == Fonts::Embedded {
        out.push_str("<style>\n");
        for (data, weight) in [(REGULAR_TTF, 400), (BOLD_TTF, 600)] {
            let _ = writeln!(
                out,
                "@font-face{{font-family:\"{FAMILY}\";font-weight:{weight};src:url(data:font/otf;base64,{}) format(\"opentype\")}}",
                base64::engine::general_purpose::STANDARD.encode(data)
            );
        }
        out.push_str("</style>\n");
    }
    let _ = writeln!(out, r#"<rect width="{w}" height="{h}" fill="{}"/>"#, colour(page.paper));
    for mark in &page.marks {
        shape(&mut out, &mark.shape);
    }
    if let Some(clip) = page.clip {
        let _ = writeln!(
            out,
            r#"<clipPath id="plan"><rect x="{:.3}" y="{:.3}" width="{:.3}" height="{:.3}"/></clipPath><g clip-path="url(#plan)">"#,
            clip[0],
            clip[1],
            clip[2] - clip[0],
            clip[3] - clip[1]
        );
        for mark in &page.clipped {
            shape(&mut out, &mark.shape);
        }
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    out
}

pub(crate) fn escaped(text: &str) -> String {
    text.chars()
        // What XML 1.0 does not allow in a text (W3C recommendation, production 2), and what no line of text holds.
        .filter(|c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}'))
        .map(|c| match c {
            '&' => "&amp;".into(),
            '<' => "&lt;".into(),
            '>' => "&gt;".into(),
            '"' => "&quot;".into(),
            c => c.to_string(),
        })
        .collect()
}

pub(crate) fn colour(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.r, ink.g, ink.b)
}

fn paint(name: &str, ink: Ink) -> String {
    if ink.a == 255 {
        format!(" {name}=\"{}\"", colour(ink))
    } else {
        format!(" {name}=\"{}\" {name}-opacity=\"{:.3}\"", colour(ink), f64::from(ink.a) / 255.0)
    }
}

fn stroke(line: &Line) -> String {
    let mut s =
        format!("{} stroke-width=\"{:.3}\" stroke-linejoin=\"round\"", paint("stroke", line.ink), line.width_mm);
    if let Some([dash, gap]) = line.dash_mm {
        let _ = write!(s, " stroke-dasharray=\"{dash:.2} {gap:.2}\"");
    }
    s
}

fn path(points: &[DVec2]) -> String {
    points.iter().map(|p| format!("{:.3},{:.3}", p.x, p.y)).collect::<Vec<_>>().join(" ")
}

pub(crate) fn shape(out: &mut String, shape: &Shape) {
    let _ = match shape {
        Shape::Polyline { points, line } => {
            writeln!(out, "<polyline points=\"{}\" fill=\"none\"{}/>", path(points), stroke(line))
        }
        Shape::Polygon { points, fill, line } => writeln!(
            out,
            "<polygon points=\"{}\"{}{}/>",
            path(points),
            fill.map_or(" fill=\"none\"".into(), |f| paint("fill", f)),
            line.as_ref().map(stroke).unwrap_or_default()
        ),
        Shape::Text { at, text, size_mm, ink, weight, align, turn_deg, halo } => {
            let anchor = match align {
                Align::Left => "start",
                Align::Middle => "middle",
                Align::Right => "end",
            };
            let turn = if *turn_deg == 0.0 {
                String::new()
            } else {
                format!(" transform=\"rotate({turn_deg:.2} {:.3} {:.3})\"", at.x, at.y)
            };
            let weight = if *weight == Weight::Bold { " font-weight=\"600\"" } else { "" };
            let halo = halo.map_or(String::new(), |h| {
                format!(
                    "{} stroke-width=\"{:.3}\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
                    paint("stroke", h),
                    size_mm * 0.25
                )
            });
            // Capitals are 0.727 of the type size in Inter: centring them on the point.
            writeln!(
                out,
                "<text x=\"{:.3}\" y=\"{:.3}\" font-size=\"{size_mm:.3}\" text-anchor=\"{anchor}\"{weight}{}{halo}{turn}>{}</text>",
                at.x,
                at.y + size_mm * CAP_HALF,
                paint("fill", *ink),
                escaped(text)
            )
        }
        Shape::Raster { origin, cell, nx, ny, rgba } => match crate::png::encode(*nx as u32, *ny as u32, rgba) {
            Some(png) => writeln!(
                out,
                "<image x=\"{:.3}\" y=\"{:.3}\" width=\"{:.3}\" height=\"{:.3}\" preserveAspectRatio=\"none\" image-rendering=\"optimizeSpeed\" href=\"data:image/png;base64,{}\"/>",
                origin.x,
                origin.y,
                *nx as f64 * cell,
                *ny as f64 * cell,
                base64::engine::general_purpose::STANDARD.encode(png)
            ),
            None => Ok(()),
        },
    };
}

/// Half a capital's height as a share of the type size.
pub(crate) const CAP_HALF: f64 = 0.3635;
