//! A part of a plan that copies of the plan share until one of them changes it.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::any::Any;
use std::borrow::Cow;
use std::fmt;
use std::ops::{Deref, DerefMut};
use std::sync::{Arc, Mutex, PoisonError};

/// A value that is copied when it is first changed; to read and write it is as the value itself.
///
/// What is worked out of it alone is kept beside it ([`Shared::derived`]) until it is changed.
#[derive(Debug, Default)]
pub struct Shared<T>(Arc<Kept<T>>);

#[derive(Debug, Default)]
struct Kept<T> {
    value: T,
    derived: Derived,
}

impl<T: Clone> Clone for Kept<T> {
    /// A copy is made to be changed: nothing worked out holds for it.
    fn clone(&self) -> Self {
        Kept { value: self.value.clone(), derived: Derived::default() }
    }
}

/// One answer of each type.
#[derive(Default)]
struct Derived(Mutex<Vec<Arc<dyn Any + Send + Sync>>>);

impl fmt::Debug for Derived {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Derived")
    }
}

impl Derived {
    fn find<D: Any + Send + Sync>(&self) -> Option<Arc<D>> {
        let list = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        list.iter().find_map(|d| Arc::clone(d).downcast().ok())
    }
}

impl<T> Shared<T> {
    /// Whether two are one and the same, so that nothing can differ. Equal values may be two.
    #[must_use]
    pub fn is_same(a: &Self, b: &Self) -> bool {
        Arc::ptr_eq(&a.0, &b.0)
    }

    /// What `make` works out of the value alone, kept for all that share it until it is changed. Asked by two threads
    /// at once it may be worked out twice; both then hold the first.
    pub fn derived<D: Any + Send + Sync>(&self, make: impl FnOnce(&T) -> D) -> Arc<D> {
        if let Some(known) = self.0.derived.find() {
            return known;
        }
        // Not under the lock: what is worked out here may ask for something else that is.
        let made: Arc<D> = Arc::new(make(&self.0.value));
        let mut list = self.0.derived.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(first) = list.iter().find_map(|d| Arc::clone(d).downcast().ok()) {
            return first;
        }
        list.push(made.clone());
        made
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        Shared(Arc::clone(&self.0))
    }
}

impl<T: PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        Shared::is_same(self, other) || self.0.value == other.0.value
    }
}

impl<T> From<T> for Shared<T> {
    fn from(value: T) -> Self {
        Shared(Arc::new(Kept { value, derived: Derived::default() }))
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0.value
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        let kept = Arc::make_mut(&mut self.0);
        kept.derived = Derived::default();
        &mut kept.value
    }
}

impl<'a, T> IntoIterator for &'a Shared<Vec<T>> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.value.iter()
    }
}

impl<'a, T: Clone> IntoIterator for &'a mut Shared<Vec<T>> {
    type Item = &'a mut T;
    type IntoIter = std::slice::IterMut<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter_mut()
    }
}

impl<T: Serialize> Serialize for Shared<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        self.0.value.serialize(to)
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Shared<T> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        T::deserialize(from).map(Shared::from)
    }
}

/// In the file it is the value.
impl<T: JsonSchema> JsonSchema for Shared<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_derived_goes_with_the_value() {
        let mut a = Shared::from(vec![1, 2, 3]);
        let sum = |a: &Shared<Vec<i32>>| a.derived(|v| v.iter().sum::<i32>());
        let first = sum(&a);
        assert_eq!(*first, 6);
        let b = a.clone();
        assert!(Arc::ptr_eq(&first, &sum(&b)), "copies share it");
        a.push(4);
        assert_eq!(*sum(&a), 10, "changed beside a copy");
        assert!(Arc::ptr_eq(&first, &sum(&b)), "the copy keeps its own");
        a.push(5);
        assert_eq!(*sum(&a), 15, "changed with no copy about");
    }
}
