"""What a group or one of its learners mixes up, from answers that the group may know, and told to each as far as she may see it."""
