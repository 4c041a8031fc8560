"""What people's answers teach: the finder's last layer, a director's taste; never storage."""
